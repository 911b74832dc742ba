"""Triggers that keep what happened from being changed, for the revisions to call."""

from alembic import op


def keep(table: str) -> None:
    """Refuse every UPDATE and DELETE of ``table``, which must be in ``tables.APPEND_ONLY``.

    On PostgreSQL this is done with all such tables after the revisions ran: see ``wall``.
    """
    if op.get_bind().dialect.name != "sqlite":
        return
    for change in ("UPDATE", "DELETE"):
        op.execute(
            f"CREATE TRIGGER {table}_no_{change.lower()} BEFORE {change} ON {table} "
            f"BEGIN SELECT RAISE(ABORT, '{table} is append-only'); END"
        )
