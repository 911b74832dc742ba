"""Backups that were made, and what tablets hand in again after a restore."""

import sqlalchemy as sa
from alembic import op

revision = "0012"
down_revision = "0010"
branch_labels = None
depends_on = None


def _text(name: str, *, may: bool = False) -> sa.Column:
    return sa.Column(name, sa.Text, nullable=may)


def upgrade() -> None:
    """Make both tables."""
    op.create_table(
        "backup",
        _text("location_id"),
        _text("backup_id"),
        _text("made_at"),
        _text("place"),
        _text("verified_at", may=True),
        _text("epoch", may=True),
        sa.Column("position", sa.Integer, nullable=True),
        _text("problem", may=True),
        sa.PrimaryKeyConstraint("location_id", "backup_id", name="pk_backup"),
    )
    for column in ("made_at", "position"):
        op.create_index(f"ix_backup_location_id_{column}", "backup", ["location_id", column])
    op.create_table(
        "to_come_back",
        _text("location_id"),
        _text("event_id"),
        _text("tablet_id"),
        _text("epoch"),
        _text("named_at"),
        sa.PrimaryKeyConstraint("location_id", "event_id", name="pk_to_come_back"),
    )
    op.create_index(
        "ix_to_come_back_location_id_tablet_id", "to_come_back", ["location_id", "tablet_id"]
    )
