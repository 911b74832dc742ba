"""Practices that follow a group server, and what a group server keeps of each of them."""

import sqlalchemy as sa
from alembic import op

from api.migrations import append_only

revision = "0016"
down_revision = "0015"
branch_labels = None
depends_on = None


def _text(name: str, *, may: bool = False) -> sa.Column:
    return sa.Column(name, sa.Text, nullable=may)


def _whole(name: str) -> sa.Column:
    return sa.Column(name, sa.Integer, nullable=False)


def upgrade() -> None:
    """Make the tables of both sides; the signed heads of a practice are only added to."""
    op.create_table(
        "replication",
        _text("location_id"),
        _whole("position"),
        sa.Column("link", sa.LargeBinary, nullable=True),
        _text("epoch", may=True),
        _text("receipt", may=True),
        _text("receipt_signature", may=True),
        _text("acknowledged_at", may=True),
        _text("contact_at", may=True),
        _text("tried_at", may=True),
        _text("problem", may=True),
        _text("problem_since", may=True),
        sa.PrimaryKeyConstraint("location_id", name="pk_replication"),
    )
    op.create_table(
        "practice",
        _text("practice_id"),
        _text("name"),
        _text("public_key"),
        _text("enrolled_at"),
        _text("contact_at", may=True),
        _text("revoked_at", may=True),
        sa.Column("sealed_key", sa.LargeBinary, nullable=True),
        sa.PrimaryKeyConstraint("practice_id", name="pk_practice"),
        sa.UniqueConstraint("public_key", name="uq_practice_public_key"),
    )
    op.create_table(
        "group_code",
        _text("code_hash"),
        _text("purpose"),
        _text("practice_id", may=True),
        _text("expires_at"),
        _text("used_at", may=True),
        sa.PrimaryKeyConstraint("code_hash", name="pk_group_code"),
    )
    op.create_table(
        "followed",
        _text("location_id"),
        _text("practice_id"),
        _text("of_location"),
        _text("state"),
        _text("from_location", may=True),
        _whole("from_position"),
        _text("begun_at"),
        _text("received_at", may=True),
        _whole("unprojected"),
        sa.PrimaryKeyConstraint("location_id", name="pk_followed"),
    )
    op.create_index("ix_followed_of_location", "followed", ["of_location"])
    op.create_index("ix_followed_practice_id", "followed", ["practice_id"])
    op.create_table(
        "followed_writer",
        _text("location_id"),
        _text("tablet_id"),
        _text("facts"),
        sa.PrimaryKeyConstraint("location_id", "tablet_id", name="pk_followed_writer"),
    )
    op.create_table(
        "followed_head",
        _text("location_id"),
        _whole("position"),
        _text("epoch"),
        _text("text"),
        _text("signature"),
        _text("received_at"),
        sa.PrimaryKeyConstraint("location_id", "position", "epoch", name="pk_followed_head"),
    )
    append_only.keep("followed_head")
