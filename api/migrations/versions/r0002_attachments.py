"""Photographs of procedures, under the hash of their bytes."""

import sqlalchemy as sa
from alembic import op

from api.migrations import append_only

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the table of attachments, and the triggers that keep what was put there."""
    op.create_table(
        "attachment",
        sa.Column("location_id", sa.Text, nullable=False),
        sa.Column("sha256", sa.Text, nullable=False),
        sa.Column("media_type", sa.Text, nullable=False),
        sa.Column("size_bytes", sa.Integer, nullable=False),
        sa.Column("width_px", sa.Integer, nullable=False),
        sa.Column("height_px", sa.Integer, nullable=False),
        sa.Column("content", sa.LargeBinary, nullable=False),
        sa.Column("received_at", sa.Text, nullable=False),
        sa.Column("actor_id", sa.Text, nullable=True),
        sa.Column("tablet_id", sa.Text, nullable=True),
        sa.PrimaryKeyConstraint("location_id", "sha256", name="pk_attachment"),
    )
    append_only.keep("attachment")
