"""Work to be done and the files that stand beside the log: papers, photographs, certificates."""

from sqlalchemy import Column, Index, LargeBinary, Table, UniqueConstraint

from api.storage.columns import WHOLE, key, may, metadata, must

job = Table(
    "job",
    metadata,
    Column("job_id", WHOLE, primary_key=True),
    must("location_id"),
    must("kind"),
    must("record_id"),
    must("version", WHOLE),
    must("state"),
    must("tries", WHOLE),
    must("due_at"),
    may("done_at"),
    may("problem"),
    UniqueConstraint("location_id", "kind", "record_id", "version"),
    Index(None, "state", "due_at"),
)

rendering = Table(
    "rendering",
    metadata,
    key("location_id"),
    key("record_id"),
    key("version", WHOLE),
    key("kind"),
    must("content", LargeBinary),
    must("sha256"),
    must("made_at"),
)

# Photographs, apart from the log, which names them by their hash.
attachment = Table(
    "attachment",
    metadata,
    key("location_id"),
    key("sha256"),
    must("media_type"),
    must("size_bytes", WHOLE),
    must("width_px", WHOLE),
    must("height_px", WHOLE),
    must("content", LargeBinary),
    must("received_at"),
    may("actor_id"),
    may("tablet_id"),
)

# Certificates of work on lasers and of meters, apart from the log, which names them by their hash.
certificate = Table(
    "certificate",
    metadata,
    key("location_id"),
    key("sha256"),
    must("media_type"),
    must("size_bytes", WHOLE),
    must("content", LargeBinary),
    must("received_at"),
    may("actor_id"),
    may("tablet_id"),
)
