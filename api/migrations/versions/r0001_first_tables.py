"""The first tables, and the triggers that keep what happened from being changed."""

import sqlalchemy as sa
from alembic import op

from api.migrations import append_only

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

APPEND_ONLY = ("event", "payload", "access_log", "rendering")


def upgrade() -> None:
    """Make every table of the first version."""
    _make_log()
    _make_projections()
    _make_accounts()
    _make_work()
    for table in APPEND_ONLY:
        append_only.keep(table)


def _make_log() -> None:
    op.create_table(
        "location",
        sa.Column("location_id", sa.Text, nullable=False),
        sa.Column("epoch", sa.Text, nullable=False),
        sa.Column("position", sa.Integer, nullable=False),
        sa.Column("link", sa.LargeBinary, nullable=False),
        sa.Column("opened_at", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("location_id", name="pk_location"),
    )
    op.create_table(
        "event",
        sa.Column("location_id", sa.Text, nullable=False),
        sa.Column("position", sa.Integer, nullable=False),
        sa.Column("epoch", sa.Text, nullable=False),
        sa.Column("event_id", sa.Text, nullable=False),
        sa.Column("tablet_id", sa.Text, nullable=False),
        sa.Column("tablet_seq", sa.Integer, nullable=False),
        sa.Column("type", sa.Text, nullable=True),
        sa.Column("entity_id", sa.Text, nullable=True),
        sa.Column("actor_id", sa.Text, nullable=True),
        sa.Column("corrects", sa.Text, nullable=True),
        sa.Column("received_at", sa.Text, nullable=False),
        sa.Column("verdict", sa.Text, nullable=False),
        sa.Column("reason", sa.Text, nullable=True),
        sa.Column("header", sa.Text, nullable=False),
        sa.Column("body", sa.Text, nullable=False),
        sa.Column("body_hash", sa.LargeBinary, nullable=False),
        sa.Column("header_hash", sa.LargeBinary, nullable=False),
        sa.Column("signature", sa.Text, nullable=False),
        sa.Column("link", sa.LargeBinary, nullable=False),
        sa.PrimaryKeyConstraint("location_id", "position", name="pk_event"),
        sa.UniqueConstraint("location_id", "event_id", name="uq_event_location_id_event_id"),
        sa.UniqueConstraint(
            "location_id",
            "tablet_id",
            "tablet_seq",
            name="uq_event_location_id_tablet_id_tablet_seq",
        ),
        sa.ForeignKeyConstraint(
            ["location_id"], ["location.location_id"], name="fk_event_location"
        ),
    )
    op.create_index(
        "ix_event_location_id_entity_id_position", "event", ["location_id", "entity_id", "position"]
    )
    op.create_table(
        "payload",
        sa.Column("location_id", sa.Text, nullable=False),
        sa.Column("event_id", sa.Text, nullable=False),
        sa.Column("salt", sa.LargeBinary, nullable=False),
        sa.Column("payload", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("location_id", "event_id", name="pk_payload"),
    )


def _make_projections() -> None:
    op.create_table(
        "document",
        sa.Column("location_id", sa.Text, nullable=False),
        sa.Column("kind", sa.Text, nullable=False),
        sa.Column("doc_id", sa.Text, nullable=False),
        sa.Column("feed", sa.Text, nullable=False),
        sa.Column("position", sa.Integer, nullable=False),
        sa.Column("body", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("location_id", "kind", "doc_id", name="pk_document"),
    )
    op.create_index(
        "ix_document_location_id_feed_position", "document", ["location_id", "feed", "position"]
    )
    op.create_table(
        "record_index",
        sa.Column("location_id", sa.Text, nullable=False),
        sa.Column("record_id", sa.Text, nullable=False),
        sa.Column("status", sa.Text, nullable=False),
        sa.Column("version", sa.Integer, nullable=False),
        sa.Column("chart_number", sa.Text, nullable=True),
        sa.Column("second_identifier", sa.Text, nullable=True),
        sa.Column("procedure_text", sa.Text, nullable=True),
        sa.Column("site", sa.Text, nullable=True),
        sa.Column("operator_id", sa.Text, nullable=True),
        sa.Column("operator_name", sa.Text, nullable=True),
        sa.Column("device_id", sa.Text, nullable=True),
        sa.Column("device_label", sa.Text, nullable=True),
        sa.Column("started_at", sa.Text, nullable=True),
        sa.Column("started_day", sa.Text, nullable=True),
        sa.Column("started_utc", sa.Text, nullable=True),
        sa.Column("ended_at", sa.Text, nullable=True),
        sa.Column("signed_at", sa.Text, nullable=True),
        sa.Column("signed_utc", sa.Text, nullable=True),
        sa.Column("passes", sa.Integer, nullable=False),
        sa.Column("placed_at", sa.Text, nullable=True),
        sa.Column("position", sa.Integer, nullable=False),
        sa.Column("flags", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("location_id", "record_id", name="pk_record_index"),
    )
    op.create_index(
        "ix_record_index_location_id_placed_at_signed_utc",
        "record_index",
        ["location_id", "placed_at", "signed_utc"],
    )
    op.create_index(
        "ix_record_index_location_id_started_utc", "record_index", ["location_id", "started_utc"]
    )


def _make_accounts() -> None:
    op.create_table(
        "tablet",
        sa.Column("tablet_id", sa.Text, nullable=False),
        sa.Column("location_id", sa.Text, nullable=False),
        sa.Column("kind", sa.Text, nullable=False),
        sa.Column("label", sa.Text, nullable=False),
        sa.Column("public_key", sa.Text, nullable=False),
        sa.Column("certificate", sa.Text, nullable=True),
        sa.Column("next_seq", sa.Integer, nullable=False),
        sa.Column("enrolled_at", sa.Text, nullable=False),
        sa.Column("revoked_at", sa.Text, nullable=True),
        sa.Column("pushed_after_revoked", sa.Integer, nullable=False),
        sa.Column("last_seen_at", sa.Text, nullable=True),
        sa.PrimaryKeyConstraint("tablet_id", name="pk_tablet"),
        sa.ForeignKeyConstraint(
            ["location_id"], ["location.location_id"], name="fk_tablet_location"
        ),
    )
    op.create_index("ix_tablet_location_id_kind", "tablet", ["location_id", "kind"])
    op.create_table(
        "enrol_code",
        sa.Column("code_hash", sa.Text, nullable=False),
        sa.Column("location_id", sa.Text, nullable=False),
        sa.Column("made_by", sa.Text, nullable=True),
        sa.Column("expires_at", sa.Text, nullable=False),
        sa.Column("used_at", sa.Text, nullable=True),
        sa.PrimaryKeyConstraint("code_hash", name="pk_enrol_code"),
    )
    op.create_table(
        "challenge",
        sa.Column("nonce_hash", sa.Text, nullable=False),
        sa.Column("tablet_id", sa.Text, nullable=False),
        sa.Column("expires_at", sa.Text, nullable=False),
        sa.Column("used_at", sa.Text, nullable=True),
        sa.PrimaryKeyConstraint("nonce_hash", name="pk_challenge"),
    )
    op.create_table(
        "token",
        sa.Column("token_hash", sa.Text, nullable=False),
        sa.Column("location_id", sa.Text, nullable=False),
        sa.Column("kind", sa.Text, nullable=False),
        sa.Column("tablet_id", sa.Text, nullable=True),
        sa.Column("person_id", sa.Text, nullable=True),
        sa.Column("made_at", sa.Text, nullable=False),
        sa.Column("used_at", sa.Text, nullable=False),
        sa.Column("expires_at", sa.Text, nullable=False),
        sa.Column("ended_at", sa.Text, nullable=True),
        sa.PrimaryKeyConstraint("token_hash", name="pk_token"),
    )
    op.create_index("ix_token_location_id_person_id", "token", ["location_id", "person_id"])
    op.create_index("ix_token_tablet_id", "token", ["tablet_id"])
    op.create_table(
        "secret",
        sa.Column("location_id", sa.Text, nullable=False),
        sa.Column("person_id", sa.Text, nullable=False),
        sa.Column("sign_in", sa.Text, nullable=True),
        sa.Column("password_hash", sa.Text, nullable=True),
        sa.Column("pin_hash", sa.Text, nullable=True),
        sa.Column("changed_at", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("location_id", "person_id", name="pk_secret"),
        sa.UniqueConstraint("sign_in", name="uq_secret_sign_in"),
    )
    op.create_table(
        "attempt",
        sa.Column("location_id", sa.Text, nullable=False),
        sa.Column("kind", sa.Text, nullable=False),
        sa.Column("subject", sa.Text, nullable=False),
        sa.Column("wrong", sa.Integer, nullable=False),
        sa.Column("locked_until", sa.Text, nullable=True),
        sa.PrimaryKeyConstraint("location_id", "kind", "subject", name="pk_attempt"),
    )
    op.create_table(
        "idempotency_key",
        sa.Column("location_id", sa.Text, nullable=False),
        sa.Column("key", sa.Text, nullable=False),
        sa.Column("request_hash", sa.Text, nullable=False),
        sa.Column("event_id", sa.Text, nullable=False),
        sa.Column("made_at", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("location_id", "key", name="pk_idempotency_key"),
    )


def _make_work() -> None:
    op.create_table(
        "access_log",
        sa.Column("access_id", sa.Integer, nullable=False),
        sa.Column("location_id", sa.Text, nullable=True),
        sa.Column("at", sa.Text, nullable=False),
        sa.Column("actor_id", sa.Text, nullable=True),
        sa.Column("tablet_id", sa.Text, nullable=True),
        sa.Column("action", sa.Text, nullable=False),
        sa.Column("subject_kind", sa.Text, nullable=True),
        sa.Column("subject_id", sa.Text, nullable=True),
        sa.Column("detail", sa.Text, nullable=True),
        sa.PrimaryKeyConstraint("access_id", name="pk_access_log"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_access_log_location_id_at", "access_log", ["location_id", "at"])
    op.create_index(
        "ix_access_log_location_id_subject_id", "access_log", ["location_id", "subject_id"]
    )
    op.create_table(
        "job",
        sa.Column("job_id", sa.Integer, nullable=False),
        sa.Column("location_id", sa.Text, nullable=False),
        sa.Column("kind", sa.Text, nullable=False),
        sa.Column("record_id", sa.Text, nullable=False),
        sa.Column("version", sa.Integer, nullable=False),
        sa.Column("state", sa.Text, nullable=False),
        sa.Column("tries", sa.Integer, nullable=False),
        sa.Column("due_at", sa.Text, nullable=False),
        sa.Column("done_at", sa.Text, nullable=True),
        sa.Column("problem", sa.Text, nullable=True),
        sa.PrimaryKeyConstraint("job_id", name="pk_job"),
        sa.UniqueConstraint("kind", "record_id", "version", name="uq_job_kind_record_id_version"),
    )
    op.create_index("ix_job_state_due_at", "job", ["state", "due_at"])
    op.create_table(
        "rendering",
        sa.Column("location_id", sa.Text, nullable=False),
        sa.Column("record_id", sa.Text, nullable=False),
        sa.Column("version", sa.Integer, nullable=False),
        sa.Column("kind", sa.Text, nullable=False),
        sa.Column("content", sa.LargeBinary, nullable=False),
        sa.Column("sha256", sa.Text, nullable=False),
        sa.Column("made_at", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("location_id", "record_id", "version", "kind", name="pk_rendering"),
    )
