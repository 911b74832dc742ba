"""What an administrator sees of tablets, an access log to be searched, who named a picture."""

import sqlalchemy as sa
from alembic import op

from api.migrations import append_only

revision = "0007"
down_revision = "0009"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the columns and tables; records name their photographs as they are projected anew."""
    _change_tablets()
    _change_access_log()
    op.create_table(
        "attachment_use",
        sa.Column("location_id", sa.Text, nullable=False),
        sa.Column("sha256", sa.Text, nullable=False),
        sa.Column("record_id", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("location_id", "sha256", "record_id", name="pk_attachment_use"),
    )
    op.create_index(
        "ix_attachment_use_location_id_record_id", "attachment_use", ["location_id", "record_id"]
    )


def _change_tablets() -> None:
    op.add_column("tablet", sa.Column("replaces", sa.Text, nullable=True))
    op.add_column("tablet", sa.Column("forked_at", sa.Text, nullable=True))
    op.add_column("tablet", sa.Column("waiting", sa.Integer, nullable=True))
    op.add_column(
        "tablet", sa.Column("first_seq", sa.Integer, nullable=False, server_default=sa.text("1"))
    )
    op.add_column(
        "tablet", sa.Column("unconfirmed", sa.Integer, nullable=False, server_default=sa.text("0"))
    )
    with op.batch_alter_table("tablet") as table:
        table.alter_column("first_seq", server_default=None)
        table.alter_column("unconfirmed", server_default=None)
    # Only what was put aside is counted by tablet, and that is little of a long log.
    aside = sa.text("verdict = 'quarantined'")
    op.create_index(
        "ix_event_quarantined",
        "event",
        ["location_id", "tablet_id", "position"],
        sqlite_where=aside,
        postgresql_where=aside,
    )


def _change_access_log() -> None:
    op.drop_index("ix_access_log_location_id_at", "access_log")
    op.drop_index("ix_access_log_location_id_subject_id", "access_log")
    for before in ([], ["actor_id"], ["action"], ["subject_id"]):
        columns = ["location_id", *before, "at", "access_id"]
        op.create_index(f"ix_access_log_{'_'.join(columns)}", "access_log", columns)
    op.create_table(
        "access_subject",
        sa.Column("location_id", sa.Text, nullable=False),
        sa.Column("subject_id", sa.Text, nullable=False),
        sa.Column("at", sa.Text, nullable=False),
        sa.Column("access_id", sa.Integer, nullable=False),
        sa.PrimaryKeyConstraint(
            "location_id", "subject_id", "at", "access_id", name="pk_access_subject"
        ),
    )
    op.create_index("ix_access_subject_access_id", "access_subject", ["access_id"])
    append_only.keep("access_subject")
