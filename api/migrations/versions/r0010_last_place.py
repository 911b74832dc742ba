"""At whose desks a person was last: where their next sign-in begins."""

import sqlalchemy as sa
from alembic import op

revision = "0010"
down_revision = "0007"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the table; who has signed in before begins where their password is kept."""
    op.create_table(
        "last_place",
        sa.Column("location_id", sa.Text, nullable=False),
        sa.Column("person_id", sa.Text, nullable=False),
        sa.Column("entered_at", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("location_id", "person_id", name="pk_last_place"),
    )
    op.create_index("ix_last_place_person_id", "last_place", ["person_id"])
