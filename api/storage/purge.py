"""Rewriting the database's files, so that what was deleted is not among their bytes any more.

A deleted row leaves its bytes in the file until something is written over them. SQLite writes the
whole file anew (VACUUM) and empties the log beside it; PostgreSQL writes the tables anew in which
content lay (VACUUM FULL), which takes their owner. What neither can reach: blocks that the disk
itself keeps, PostgreSQL's write-ahead log until it is recycled, and every copy made before.
"""

from sqlalchemy import Engine, text

from api.errors import DomainError
from api.storage import reach
from api.storage.engine import is_postgresql, open_engine, turn_of

_TABLES = (
    "payload",
    "rendering",
    "attachment",
    "document",
    "record_index",
    "departure",
    "attachment_use",
    "idempotency_key",
)
_OWNED = text(
    "SELECT count(*) FROM pg_tables WHERE schemaname = 'public' AND tablename = ANY (:names)"
    " AND pg_has_role(current_user, tableowner, 'USAGE')"
)


def purge(engine: Engine, *, owner_url: str | None = None) -> None:
    """Write anew whatever content was deleted from.

    Writers wait meanwhile. Raises ``DomainError`` "purge_waits" where a reader keeps the old
    state alive (try again later) and "purge_by_owner" where the role may not do it.
    """
    if is_postgresql(engine):
        _postgresql(owner_url or engine.url.render_as_string(hide_password=False))
    else:
        _sqlite(engine)


def _sqlite(engine: Engine) -> None:
    with turn_of(engine):
        raw = engine.raw_connection()
        try:
            raw.driver_connection.execute("VACUUM")
            [busy, *_] = raw.driver_connection.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()
        finally:
            raw.close()
    if busy:
        raise DomainError("purge_waits", "Something reads the database; try again in a moment.")


def _postgresql(url: str) -> None:
    engine = open_engine(url, reach=reach.EVERYWHERE, as_owner=True)
    try:
        with engine.connect().execution_options(isolation_level="AUTOCOMMIT") as connection:
            owned = connection.execute(_OWNED, {"names": list(_TABLES)}).scalar_one()
            if owned != len(_TABLES):
                raise DomainError(
                    "purge_by_owner",
                    "Only the tables' owner can write them anew: run `dosebook erasures purge` "
                    "with DATABASE_OWNER_URL.",
                )
            connection.exec_driver_sql(f"VACUUM (FULL) {', '.join(_TABLES)}")
    finally:
        engine.dispose()
