"""Lists of records that can be paged and filtered, and what was moved out of a chart."""

import sqlalchemy as sa
from alembic import op

from api.storage.rows import plain_words

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add what lists filter by, the order in which they are paged, and the chart's departures."""
    op.add_column("record_index", sa.Column("placed_version", sa.Integer, nullable=True))
    op.execute("UPDATE record_index SET placed_version = 1 WHERE placed_at IS NOT NULL")
    op.add_column("record_index", sa.Column("words", sa.Text, nullable=False, server_default=""))
    _fill_words(op.get_bind())
    with op.batch_alter_table("record_index") as table:
        table.alter_column("words", server_default=None)
    # A page goes on after a key, and nothing comes after a key that is unknown.
    op.execute("UPDATE record_index SET started_utc = '' WHERE started_utc IS NULL")
    op.drop_index("ix_record_index_location_id_started_utc", "record_index")
    op.create_index(
        "ix_record_index_location_id_started_utc_record_id",
        "record_index",
        ["location_id", "started_utc", "record_id"],
    )
    op.create_table(
        "departure",
        sa.Column("location_id", sa.Text, nullable=False),
        sa.Column("event_id", sa.Text, nullable=False),
        sa.Column("record_id", sa.Text, nullable=False),
        sa.Column("kind", sa.Text, nullable=False),
        sa.Column("chart_number", sa.Text, nullable=True),
        sa.Column("chart_words", sa.Text, nullable=False),
        sa.Column("second_identifier", sa.Text, nullable=True),
        sa.Column("at", sa.Text, nullable=False),
        sa.Column("by_id", sa.Text, nullable=True),
        sa.Column("by_name", sa.Text, nullable=True),
        sa.Column("reason", sa.Text, nullable=True),
        sa.Column("away", sa.Integer, nullable=False),
        sa.Column("paper", sa.Integer, nullable=False),
        sa.Column("removed_at", sa.Text, nullable=True),
        sa.PrimaryKeyConstraint("location_id", "event_id", name="pk_departure"),
    )
    op.create_index(
        "ix_departure_location_id_chart_words", "departure", ["location_id", "chart_words"]
    )
    op.create_index("ix_departure_location_id_record_id", "departure", ["location_id", "record_id"])


def _fill_words(connection: sa.Connection) -> None:
    looked_at = ("chart_number", "second_identifier", "procedure_text", "site", "operator_name")
    columns = ", ".join(looked_at)
    rows = connection.exec_driver_sql(f"SELECT location_id, record_id, {columns} FROM record_index")
    for row in rows.mappings().all():
        connection.execute(
            sa.text(
                "UPDATE record_index SET words = :words"
                " WHERE location_id = :location_id AND record_id = :record_id"
            ),
            {
                "words": plain_words(*(row[name] for name in looked_at)),
                "location_id": row["location_id"],
                "record_id": row["record_id"],
            },
        )
