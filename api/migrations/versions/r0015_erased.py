"""What was erased, and triggers that let go of what is listed there and of nothing else."""

import sqlalchemy as sa
from alembic import op

from api.migrations import append_only, erasing

revision = "0015"
down_revision = "0013"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the table; what is in it is only added to."""
    op.create_table(
        "erased",
        sa.Column("location_id", sa.Text, nullable=False),
        sa.Column("kind", sa.Text, nullable=False),
        sa.Column("what", sa.Text, nullable=False),
        sa.Column("record_id", sa.Text, nullable=False),
        sa.Column("sha256", sa.Text, nullable=True),
        sa.Column("position", sa.Integer, nullable=True),
        sa.Column("by_position", sa.Integer, nullable=False),
        sa.Column("at", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("location_id", "kind", "what", name="pk_erased"),
    )
    for column in ("by_position", "record_id"):
        op.create_index(f"ix_erased_location_id_{column}", "erased", ["location_id", column])
    append_only.keep("erased")
    erasing.let_go_on_sqlite()
