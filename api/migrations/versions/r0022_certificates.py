"""Certificates of work and calibrations, under the hash of their bytes, and what names them."""

import sqlalchemy as sa
from alembic import op

from api.migrations import append_only

revision = "0022"
down_revision = "0021"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make both tables, and the triggers that keep the bytes that were put there."""
    op.create_table(
        "certificate",
        sa.Column("location_id", sa.Text, nullable=False),
        sa.Column("sha256", sa.Text, nullable=False),
        sa.Column("media_type", sa.Text, nullable=False),
        sa.Column("size_bytes", sa.Integer, nullable=False),
        sa.Column("content", sa.LargeBinary, nullable=False),
        sa.Column("received_at", sa.Text, nullable=False),
        sa.Column("actor_id", sa.Text, nullable=True),
        sa.Column("tablet_id", sa.Text, nullable=True),
        sa.PrimaryKeyConstraint("location_id", "sha256", name="pk_certificate"),
    )
    append_only.keep("certificate")
    op.create_table(
        "certificate_use",
        sa.Column("location_id", sa.Text, nullable=False),
        sa.Column("sha256", sa.Text, nullable=False),
        sa.Column("kind", sa.Text, nullable=False),
        sa.Column("doc_id", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint(
            "location_id", "sha256", "kind", "doc_id", name="pk_certificate_use"
        ),
    )
