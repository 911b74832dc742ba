"""Photographs that a group has, and erasures that reach every history of one log."""

import sqlalchemy as sa
from alembic import op

from api.migrations import erasing

revision = "0021"
down_revision = "0016"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the table; let what is listed by an order in another history of the same log go too."""
    op.create_table(
        "group_photograph",
        sa.Column("location_id", sa.Text, nullable=False),
        sa.Column("sha256", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("location_id", "sha256", name="pk_group_photograph"),
    )
    op.add_column("replication", sa.Column("photographs_compared_at", sa.Text, nullable=True))
    op.add_column("erased", sa.Column("by_location", sa.Text, nullable=True))
    erasing.let_go_beside_on_sqlite()
