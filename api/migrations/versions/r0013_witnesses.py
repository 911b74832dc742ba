"""Where tablets found the log to end, by their own reckoning."""

import sqlalchemy as sa
from alembic import op

from api.migrations import append_only

revision = "0013"
down_revision = "0012"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the table; what is in it is only added to."""
    op.create_table(
        "witness",
        sa.Column("location_id", sa.Text, nullable=False),
        sa.Column("position", sa.Integer, nullable=False),
        sa.Column("tablet_id", sa.Text, nullable=False),
        sa.Column("epoch", sa.Text, nullable=False),
        sa.Column("link", sa.LargeBinary, nullable=False),
        sa.Column("seen_at", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("location_id", "position", "tablet_id", "epoch", name="pk_witness"),
    )
    op.create_index("ix_witness_location_id_tablet_id", "witness", ["location_id", "tablet_id"])
    append_only.keep("witness")
