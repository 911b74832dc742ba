"""One-time links, second factors, sign-ins half done, and how often somebody asked."""

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None


def _text(name: str, *, may: bool = False) -> sa.Column:
    return sa.Column(name, sa.Text, nullable=may)


def upgrade() -> None:
    """Make the tables, and let a session say which browser it is in."""
    op.create_table(
        "link",
        _text("link_hash"),
        _text("location_id"),
        _text("person_id"),
        _text("purpose"),
        _text("made_by", may=True),
        _text("made_at"),
        _text("expires_at"),
        _text("used_at", may=True),
        sa.PrimaryKeyConstraint("link_hash", name="pk_link"),
    )
    op.create_index("ix_link_location_id_person_id", "link", ["location_id", "person_id"])
    op.create_table(
        "factor",
        _text("location_id"),
        _text("factor_id"),
        _text("person_id"),
        _text("kind"),
        _text("label"),
        _text("secret"),
        _text("credential_id", may=True),
        sa.Column("counter", sa.Integer, nullable=False),
        _text("made_at"),
        _text("confirmed_at", may=True),
        _text("used_at", may=True),
        sa.PrimaryKeyConstraint("location_id", "factor_id", name="pk_factor"),
        sa.UniqueConstraint("credential_id", name="uq_factor_credential_id"),
    )
    op.create_index("ix_factor_location_id_person_id", "factor", ["location_id", "person_id"])
    op.create_table(
        "recovery_code",
        _text("location_id"),
        _text("person_id"),
        _text("code_hash"),
        _text("made_at"),
        _text("used_at", may=True),
        sa.PrimaryKeyConstraint("location_id", "person_id", "code_hash", name="pk_recovery_code"),
    )
    op.create_table(
        "ceremony",
        _text("ceremony_hash"),
        _text("location_id"),
        _text("person_id"),
        _text("purpose"),
        _text("challenge", may=True),
        _text("expires_at"),
        _text("used_at", may=True),
        sa.PrimaryKeyConstraint("ceremony_hash", name="pk_ceremony"),
    )
    op.create_table(
        "asked",
        _text("what"),
        _text("who"),
        _text("began_at"),
        sa.Column("times", sa.Integer, nullable=False),
        sa.PrimaryKeyConstraint("what", "who", name="pk_asked"),
    )
    op.add_column("token", _text("agent", may=True))
