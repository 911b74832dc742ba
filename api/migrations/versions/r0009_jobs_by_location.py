"""Jobs are kept apart by location: no record can stand in the way of one elsewhere."""

from alembic import op

revision = "0009"
down_revision = "0005"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Let the key of a job start with its location."""
    with op.batch_alter_table("job") as table:
        table.drop_constraint("uq_job_kind_record_id_version", type_="unique")
        table.create_unique_constraint(
            "uq_job_location_id_kind_record_id_version",
            ["location_id", "kind", "record_id", "version"],
        )
