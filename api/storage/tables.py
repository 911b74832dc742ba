"""The tables, as SQLAlchemy Core sees them. The migrations make them; a test holds both equal.

Times are text of one form and one offset (UTC), so that they sort as they are written. Hashes
and links are bytes. ``location_id`` stands on every row that belongs to a location.
"""

from sqlalchemy import (
    BigInteger,
    Column,
    ForeignKeyConstraint,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    Table,
    Text,
    UniqueConstraint,
    text,
)
from sqlalchemy.types import TypeEngine

Kind = type[TypeEngine] | TypeEngine

metadata = MetaData(
    naming_convention={
        "pk": "pk_%(table_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "fk": "fk_%(table_name)s_%(referred_table_name)s",
    }
)

# A tablet counts to 2**53. SQLite's whole numbers have 64 bits under any name.
WHOLE = Integer().with_variant(BigInteger(), "postgresql")


def _key(name: str, kind: Kind = Text) -> Column:
    return Column(name, kind, primary_key=True, nullable=False, autoincrement=False)


def _must(name: str, kind: Kind = Text, **more: object) -> Column:
    return Column(name, kind, nullable=False, **more)


def _may(name: str, kind: Kind = Text) -> Column:
    return Column(name, kind, nullable=True)


# The counter row of a location: where its log ends. Locked last in every write.
location = Table(
    "location",
    metadata,
    _key("location_id"),
    _must("epoch"),
    _must("position", WHOLE),
    _must("link", LargeBinary),
    _must("opened_at"),
)

event = Table(
    "event",
    metadata,
    _key("location_id"),
    _key("position", WHOLE),
    _must("epoch"),
    _must("event_id"),
    _must("tablet_id"),
    _must("tablet_seq", WHOLE),
    _may("type"),
    _may("entity_id"),
    _may("actor_id"),
    _may("corrects"),
    _must("received_at"),
    _must("verdict"),
    _may("reason"),
    _must("header"),
    _must("body"),
    _must("body_hash", LargeBinary),
    _must("header_hash", LargeBinary),
    _must("signature"),
    _must("link", LargeBinary),
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
    _key("location_id"),
    _key("event_id"),
    _must("salt", LargeBinary),
    _must("payload"),
)

# The projections: what the log comes to. Rebuilt freely.
document = Table(
    "document",
    metadata,
    _key("location_id"),
    _key("kind"),
    _key("doc_id"),
    _must("feed"),
    _must("position", WHOLE),
    _must("body"),
    Index(None, "location_id", "feed", "position"),
)

record_index = Table(
    "record_index",
    metadata,
    _key("location_id"),
    _key("record_id"),
    _must("status"),
    _must("version", WHOLE),
    _may("chart_number"),
    _may("second_identifier"),
    _may("procedure_text"),
    _may("site"),
    _may("operator_id"),
    _may("operator_name"),
    _may("device_id"),
    _may("device_label"),
    _may("started_at"),
    _may("started_day"),
    _may("started_utc"),
    _may("ended_at"),
    _may("signed_at"),
    _may("signed_utc"),
    _must("passes", WHOLE),
    _may("placed_at"),
    _must("position", WHOLE),
    _must("flags"),
    _may("placed_version", WHOLE),
    _must("words"),
    Index(None, "location_id", "started_utc", "record_id"),
    Index(None, "location_id", "placed_at", "signed_utc"),
)

# What left a chart: a record moved to another number, or one made void.
departure = Table(
    "departure",
    metadata,
    _key("location_id"),
    _key("event_id"),
    _must("record_id"),
    _must("kind"),
    _may("chart_number"),
    _must("chart_words"),
    _may("second_identifier"),
    _must("at"),
    _may("by_id"),
    _may("by_name"),
    _may("reason"),
    _must("away", WHOLE),
    _must("paper", WHOLE),
    _may("removed_at"),
    Index(None, "location_id", "chart_words"),
    Index(None, "location_id", "record_id"),
)

# Which record used which handpiece: counted, never added to.
handpiece_use = Table(
    "handpiece_use",
    metadata,
    _key("location_id"),
    _key("record_id"),
    _key("handpiece_id"),
    _must("used_at"),
    Index(None, "location_id", "handpiece_id"),
)

tablet = Table(
    "tablet",
    metadata,
    _key("tablet_id"),
    _must("location_id"),
    _must("kind"),
    _must("label"),
    _must("public_key"),
    _may("certificate"),
    _must("next_seq", WHOLE),
    _must("enrolled_at"),
    _may("revoked_at"),
    _must("pushed_after_revoked", WHOLE),
    _may("last_seen_at"),
    # The enrolment that this one goes on from, and the number that its events begin with.
    _may("replaces"),
    _must("first_seq", WHOLE),
    # 1: known by its certificate only, until an administrator says that it belongs here.
    _must("unconfirmed", WHOLE),
    # When it turned out that there are two of it.
    _may("forked_at"),
    # How many entries it said last that it still had to send.
    _may("waiting", WHOLE),
    ForeignKeyConstraint(["location_id"], ["location.location_id"]),
    Index(None, "location_id", "kind"),
)

enrol_code = Table(
    "enrol_code",
    metadata,
    _key("code_hash"),
    _must("location_id"),
    _may("made_by"),
    _must("expires_at"),
    _may("used_at"),
)

challenge = Table(
    "challenge",
    metadata,
    _key("nonce_hash"),
    _must("tablet_id"),
    _must("expires_at"),
    _may("used_at"),
)

# Bearer tokens of tablets, of persons on tablets, and desk sessions; only hashes are kept.
token = Table(
    "token",
    metadata,
    _key("token_hash"),
    _must("location_id"),
    _must("kind"),
    _may("tablet_id"),
    _may("person_id"),
    _must("made_at"),
    _must("used_at"),
    _must("expires_at"),
    _may("ended_at"),
    _may("agent"),
    Index(None, "location_id", "person_id"),
    Index(None, "tablet_id"),
)

secret = Table(
    "secret",
    metadata,
    _key("location_id"),
    _key("person_id"),
    _may("sign_in"),
    _may("password_hash"),
    _may("pin_hash"),
    _must("changed_at"),
    UniqueConstraint("sign_in"),
)

# Since when somebody works at a desk of each location where they do.
last_place = Table(
    "last_place",
    metadata,
    _key("location_id"),
    _key("person_id"),
    _must("entered_at"),
    Index(None, "person_id"),
)

# Wrong guesses, counted where every process sees them and a restart does not forget them.
attempt = Table(
    "attempt",
    metadata,
    _key("location_id"),
    _key("kind"),
    _key("subject"),
    _must("wrong", WHOLE),
    _may("locked_until"),
)

# One-time links at which a person sets their own secrets; only hashes are kept.
link = Table(
    "link",
    metadata,
    _key("link_hash"),
    _must("location_id"),
    _must("person_id"),
    _must("purpose"),
    _may("made_by"),
    _must("made_at"),
    _must("expires_at"),
    _may("used_at"),
    Index(None, "location_id", "person_id"),
)

# Second factors. ``secret`` is sealed for codes by time, and the public key for a passkey;
# ``counter`` is the last step of time, or the passkey's own count.
factor = Table(
    "factor",
    metadata,
    _key("location_id"),
    _key("factor_id"),
    _must("person_id"),
    _must("kind"),
    _must("label"),
    _must("secret"),
    _may("credential_id"),
    _must("counter", WHOLE),
    _must("made_at"),
    _may("confirmed_at"),
    _may("used_at"),
    UniqueConstraint("credential_id"),
    Index(None, "location_id", "person_id"),
)

recovery_code = Table(
    "recovery_code",
    metadata,
    _key("location_id"),
    _key("person_id"),
    _key("code_hash"),
    _must("made_at"),
    _may("used_at"),
)

# What is begun and waits for its second half: a sign-in for its factor, a passkey to be added.
ceremony = Table(
    "ceremony",
    metadata,
    _key("ceremony_hash"),
    _must("location_id"),
    _must("person_id"),
    _must("purpose"),
    _may("challenge"),
    _must("expires_at"),
    _may("used_at"),
)

# How often somebody asked for something since ``began_at``; belongs to no location.
asked = Table(
    "asked",
    metadata,
    _key("what"),
    _key("who"),
    _must("began_at"),
    _must("times", WHOLE),
)

idempotency_key = Table(
    "idempotency_key",
    metadata,
    _key("location_id"),
    _key("key"),
    _must("request_hash"),
    _must("event_id"),
    _must("made_at"),
)

access_log = Table(
    "access_log",
    metadata,
    Column("access_id", WHOLE, primary_key=True),
    _may("location_id"),
    _must("at"),
    _may("actor_id"),
    _may("tablet_id"),
    _must("action"),
    _may("subject_kind"),
    _may("subject_id"),
    _may("detail"),
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
    _key("location_id"),
    _key("subject_id"),
    _key("at"),
    _key("access_id", WHOLE),
    Index(None, "access_id"),
)

job = Table(
    "job",
    metadata,
    Column("job_id", WHOLE, primary_key=True),
    _must("location_id"),
    _must("kind"),
    _must("record_id"),
    _must("version", WHOLE),
    _must("state"),
    _must("tries", WHOLE),
    _must("due_at"),
    _may("done_at"),
    _may("problem"),
    UniqueConstraint("location_id", "kind", "record_id", "version"),
    Index(None, "state", "due_at"),
)

rendering = Table(
    "rendering",
    metadata,
    _key("location_id"),
    _key("record_id"),
    _key("version", WHOLE),
    _key("kind"),
    _must("content", LargeBinary),
    _must("sha256"),
    _must("made_at"),
)

# Photographs, apart from the log, which names them by their hash.
attachment = Table(
    "attachment",
    metadata,
    _key("location_id"),
    _key("sha256"),
    _must("media_type"),
    _must("size_bytes", WHOLE),
    _must("width_px", WHOLE),
    _must("height_px", WHOLE),
    _must("content", LargeBinary),
    _must("received_at"),
    _may("actor_id"),
    _may("tablet_id"),
)

# Which record names which photograph.
attachment_use = Table(
    "attachment_use",
    metadata,
    _key("location_id"),
    _key("sha256"),
    _key("record_id"),
    Index(None, "location_id", "record_id"),
)

# Certificates of work on lasers and of meters, apart from the log, which names them by their hash.
certificate = Table(
    "certificate",
    metadata,
    _key("location_id"),
    _key("sha256"),
    _must("media_type"),
    _must("size_bytes", WHOLE),
    _must("content", LargeBinary),
    _must("received_at"),
    _may("actor_id"),
    _may("tablet_id"),
)

# Which piece of work or which meter names which certificate.
certificate_use = Table(
    "certificate_use",
    metadata,
    _key("location_id"),
    _key("sha256"),
    _key("kind"),
    _key("doc_id"),
)

# Each try to make a backup, for each location how far its log was inside; verified or failed.
backup = Table(
    "backup",
    metadata,
    _key("location_id"),
    _key("backup_id"),
    _must("made_at"),
    _must("place"),
    _may("verified_at"),
    _may("epoch"),
    _may("position", WHOLE),
    _may("problem"),
    Index(None, "location_id", "made_at"),
    Index(None, "location_id", "position"),
)

# After a restore: entries that a tablet said it holds and will hand in again.
to_come_back = Table(
    "to_come_back",
    metadata,
    _key("location_id"),
    _key("event_id"),
    _must("tablet_id"),
    _must("epoch"),
    _must("named_at"),
    Index(None, "location_id", "tablet_id"),
)

# Where tablets found a log to end, by their own reckoning.
witness = Table(
    "witness",
    metadata,
    _key("location_id"),
    _key("position", WHOLE),
    _key("tablet_id"),
    _key("epoch"),
    _must("link", LargeBinary),
    _must("seen_at"),
    Index(None, "location_id", "tablet_id"),
)

# Of a practice that a group server follows: how far each log is there, in the group's signed word.
replication = Table(
    "replication",
    metadata,
    _key("location_id"),
    _must("position", WHOLE),
    _may("link", LargeBinary),
    _may("epoch"),
    _may("receipt"),
    _may("receipt_signature"),
    _may("acknowledged_at"),
    _may("contact_at"),
    _may("tried_at"),
    _may("problem"),
    _may("problem_since"),
    # When the group was asked last about every photograph, also those that it said it has.
    _may("photographs_compared_at"),
)

# Which photographs of a location are at the group, in the group's signed word.
group_photograph = Table(
    "group_photograph",
    metadata,
    _key("location_id"),
    _key("sha256"),
)

# On a group server: the practices that it follows. They belong to no location.
practice = Table(
    "practice",
    metadata,
    _key("practice_id"),
    _must("name"),
    _must("public_key"),
    _must("enrolled_at"),
    _may("contact_at"),
    _may("revoked_at"),
    # The practice's own key, which only its recovery key opens.
    _may("sealed_key", LargeBinary),
    UniqueConstraint("public_key"),
)

# One-time codes by which a practice joins, or gets back what the group holds of it.
group_code = Table(
    "group_code",
    metadata,
    _key("code_hash"),
    _must("purpose"),
    _may("practice_id"),
    _must("expires_at"),
    _may("used_at"),
)

# One history of a practice's location. Where a practice was put back, or there are two of it,
# there are several: what came after they parted is kept of each, as a location of its own here.
followed = Table(
    "followed",
    metadata,
    _key("location_id"),
    _must("practice_id"),
    _must("of_location"),
    _must("state"),
    _may("from_location"),
    _must("from_position", WHOLE),
    _must("begun_at"),
    _may("received_at"),
    # 1: something that came could not be projected; `dosebook db rebuild` does it.
    _must("unprojected", WHOLE),
    Index("ix_followed_of_location", "of_location"),
    Index("ix_followed_practice_id", "practice_id"),
)

# What the practice says of those who write in its log, to give back to it.
followed_writer = Table(
    "followed_writer",
    metadata,
    _key("location_id"),
    _key("tablet_id"),
    _must("facts"),
)

# Where the practice itself said that its log ends, in its signed word.
followed_head = Table(
    "followed_head",
    metadata,
    _key("location_id"),
    _key("position", WHOLE),
    _key("epoch"),
    _must("text"),
    _must("signature"),
    _must("received_at"),
)

# What is gone of the log, of papers and of photographs: each listed before it goes, by an entry
# ``retention.erased`` at ``by_position``. Only what is listed can be deleted, and never comes back.
erased = Table(
    "erased",
    metadata,
    _key("location_id"),
    # record, payload, rendering or attachment
    _key("kind"),
    # Its record_id; its event_id; record_id/version/kind; its hash.
    _key("what"),
    _must("record_id"),
    # Of what stood there: the hash that the body holds of its payload, or that of the bytes.
    _may("sha256"),
    _may("position", WHOLE),
    _must("by_position", WHOLE),
    _must("at"),
    # Where the order stands in another history of the same log, which history that is.
    _may("by_location"),
    Index(None, "location_id", "by_position"),
    Index(None, "location_id", "record_id"),
)

APPEND_ONLY = (
    "event",
    "payload",
    "access_log",
    "access_subject",
    "rendering",
    "attachment",
    "certificate",
    "witness",
    "erased",
    "followed_head",
)
