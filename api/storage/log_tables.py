"""What cannot be made anew: the log itself, and what is gone of it."""

from sqlalchemy import ForeignKeyConstraint, Index, LargeBinary, Table, UniqueConstraint, text

from api.storage.columns import WHOLE, key, may, metadata, must

# The counter row of a location: where its log ends. Locked last in every write.
location = Table(
    "location",
    metadata,
    key("location_id"),
    must("epoch"),
    must("position", WHOLE),
    must("link", LargeBinary),
    must("opened_at"),
)

event = Table(
    "event",
    metadata,
    key("location_id"),
    key("position", WHOLE),
    must("epoch"),
    must("event_id"),
    must("tablet_id"),
    must("tablet_seq", WHOLE),
    may("type"),
    may("entity_id"),
    may("actor_id"),
    may("corrects"),
    must("received_at"),
    must("verdict"),
    may("reason"),
    must("header"),
    must("body"),
    must("body_hash", LargeBinary),
    must("header_hash", LargeBinary),
    must("signature"),
    must("link", LargeBinary),
    UniqueConstraint("location_id", "event_id"),
    UniqueConstraint("location_id", "tablet_id", "tablet_seq"),
    ForeignKeyConstraint(["location_id"], ["location.location_id"]),
    Index(None, "location_id", "entity_id", "position"),
    # Only what was put aside is counted by tablet, and that is little of a long log.
    Index(
        "ix_event_quarantined",
        "location_id",
        "tablet_id",
        "position",
        sqlite_where=text("verdict = 'quarantined'"),
        postgresql_where=text("verdict = 'quarantined'"),
    ),
)

# Apart from the event, because it alone holds what may have to be erased.
payload = Table(
    "payload",
    metadata,
    key("location_id"),
    key("event_id"),
    must("salt", LargeBinary),
    must("payload"),
)

# What is gone of the log, of papers and of photographs: each listed before it goes, by an entry
# ``retention.erased`` at ``by_position``. Only what is listed can be deleted, and never comes back.
erased = Table(
    "erased",
    metadata,
    key("location_id"),
    # record, payload, rendering or attachment
    key("kind"),
    # Its record_id; its event_id; record_id/version/kind; its hash.
    key("what"),
    must("record_id"),
    # Of what stood there: the hash that the body holds of its payload, or that of the bytes.
    may("sha256"),
    may("position", WHOLE),
    must("by_position", WHOLE),
    must("at"),
    # Where the order stands in another history of the same log, which history that is.
    may("by_location"),
    Index(None, "location_id", "by_position"),
    Index(None, "location_id", "record_id"),
)
