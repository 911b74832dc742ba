"""Other copies of the log: backups, what tablets held and saw of it, the group."""

from sqlalchemy import Index, LargeBinary, Table, UniqueConstraint

from api.storage.columns import WHOLE, key, may, metadata, must

# Each try to make a backup, for each location how far its log was inside; verified or failed.
backup = Table(
    "backup",
    metadata,
    key("location_id"),
    key("backup_id"),
    must("made_at"),
    must("place"),
    may("verified_at"),
    may("epoch"),
    may("position", WHOLE),
    may("problem"),
    Index(None, "location_id", "made_at"),
    Index(None, "location_id", "position"),
)

# After a restore: entries that a tablet said it holds and will hand in again.
to_come_back = Table(
    "to_come_back",
    metadata,
    key("location_id"),
    key("event_id"),
    must("tablet_id"),
    must("epoch"),
    must("named_at"),
    Index(None, "location_id", "tablet_id"),
)

# Where tablets found a log to end, by their own reckoning.
witness = Table(
    "witness",
    metadata,
    key("location_id"),
    key("position", WHOLE),
    key("tablet_id"),
    key("epoch"),
    must("link", LargeBinary),
    must("seen_at"),
    Index(None, "location_id", "tablet_id"),
)

# Of a practice that a group server follows: how far each log is there, in the group's signed word.
replication = Table(
    "replication",
    metadata,
    key("location_id"),
    must("position", WHOLE),
    may("link", LargeBinary),
    may("epoch"),
    may("receipt"),
    may("receipt_signature"),
    may("acknowledged_at"),
    may("contact_at"),
    may("tried_at"),
    may("problem"),
    may("problem_since"),
    # When the group was asked last about every photograph, also those that it said it has.
    may("photographs_compared_at"),
)

# Which photographs of a location are at the group, in the group's signed word.
group_photograph = Table(
    "group_photograph",
    metadata,
    key("location_id"),
    key("sha256"),
)

# On a group server: the practices that it follows. They belong to no location.
practice = Table(
    "practice",
    metadata,
    key("practice_id"),
    must("name"),
    must("public_key"),
    must("enrolled_at"),
    may("contact_at"),
    may("revoked_at"),
    # The practice's own key, which only its recovery key opens.
    may("sealed_key", LargeBinary),
    UniqueConstraint("public_key"),
)

# One-time codes by which a practice joins, or gets back what the group holds of it.
group_code = Table(
    "group_code",
    metadata,
    key("code_hash"),
    must("purpose"),
    may("practice_id"),
    must("expires_at"),
    may("used_at"),
)

# One history of a practice's location. Where a practice was put back, or there are two of it,
# there are several: what came after they parted is kept of each, as a location of its own here.
followed = Table(
    "followed",
    metadata,
    key("location_id"),
    must("practice_id"),
    must("of_location"),
    must("state"),
    may("from_location"),
    must("from_position", WHOLE),
    must("begun_at"),
    may("received_at"),
    # 1: something that came could not be projected; `dosebook db rebuild` does it.
    must("unprojected", WHOLE),
    Index("ix_followed_of_location", "of_location"),
    Index("ix_followed_practice_id", "practice_id"),
)

# What the practice says of those who write in its log, to give back to it.
followed_writer = Table(
    "followed_writer",
    metadata,
    key("location_id"),
    key("tablet_id"),
    must("facts"),
)

# Where the practice itself said that its log ends, in its signed word.
followed_head = Table(
    "followed_head",
    metadata,
    key("location_id"),
    key("position", WHOLE),
    key("epoch"),
    must("text"),
    must("signature"),
    must("received_at"),
)
