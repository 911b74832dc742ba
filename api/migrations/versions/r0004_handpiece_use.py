"""Which record used which handpiece or tip, to count from."""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the table; records fill it as they are projected."""
    op.create_table(
        "handpiece_use",
        sa.Column("location_id", sa.Text, nullable=False),
        sa.Column("record_id", sa.Text, nullable=False),
        sa.Column("handpiece_id", sa.Text, nullable=False),
        sa.Column("used_at", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint(
            "location_id", "record_id", "handpiece_id", name="pk_handpiece_use"
        ),
    )
    op.create_index(
        "ix_handpiece_use_location_id_handpiece_id",
        "handpiece_use",
        ["location_id", "handpiece_id"],
    )
