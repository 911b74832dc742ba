"""Who read, changed, printed or was refused what."""

from sqlalchemy import Column, Index, Table

from api.storage.columns import WHOLE, key, may, metadata, must

access_log = Table(
    "access_log",
    metadata,
    Column("access_id", WHOLE, primary_key=True),
    may("location_id"),
    must("at"),
    may("actor_id"),
    may("tablet_id"),
    must("action"),
    may("subject_kind"),
    may("subject_id"),
    may("detail"),
    Index(None, "location_id", "at", "access_id"),
    Index(None, "location_id", "actor_id", "at", "access_id"),
    Index(None, "location_id", "action", "at", "access_id"),
    Index(None, "location_id", "subject_id", "at", "access_id"),
    sqlite_autoincrement=True,
)

# The further subjects of one access, where it reached several.
access_subject = Table(
    "access_subject",
    metadata,
    key("location_id"),
    key("subject_id"),
    key("at"),
    key("access_id", WHOLE),
    Index(None, "access_id"),
)
