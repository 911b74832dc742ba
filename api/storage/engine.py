"""The database connection, and the two ways to use it: read and write."""

import threading
from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.engine import make_url
from sqlalchemy.exc import DBAPIError, IntegrityError

from api.errors import BadInput

__all__ = [
    "Connection",
    "DBAPIError",
    "Engine",
    "IntegrityError",
    "open_engine",
    "read",
    "savepoint",
    "write",
]

BUSY_TIMEOUT_MS = 5000

# SQLite lets one writer in at a time and makes the others poll. Waiting here instead, in turn,
# keeps eight threads of one process from running into the busy time-out.
_locks: dict[str, threading.RLock] = {}
_locks_guard = threading.Lock()


def open_engine(database_url: str) -> Engine:
    """Open a database file that ``migrations.run.upgrade`` has brought up to date.

    Raises ``BadInput`` for a database other than an SQLite file.
    """
    url = make_url(database_url)
    if url.get_backend_name() != "sqlite" or not url.database or url.database == ":memory:":
        raise BadInput(
            "database_unsupported", "the database must be an SQLite file", field="DATABASE_URL"
        )
    # An error must not carry the row it was about into a log file.
    engine = create_engine(
        url, pool_size=16, max_overflow=16, pool_timeout=30, hide_parameters=True
    )
    event.listen(engine, "connect", _on_connect)
    event.listen(engine, "begin", _on_begin)
    return engine


@contextmanager
def read(engine: Engine) -> Iterator[Connection]:
    """Give a connection that sees one moment of the database until the block ends."""
    with engine.connect() as connection, connection.begin():
        yield connection


@contextmanager
def write(engine: Engine) -> Iterator[Connection]:
    """Give a connection in a write transaction: committed at the block's end, else undone."""
    with _lock_of(engine):
        connection = engine.connect().execution_options(dosebook_write=True)
        try:
            transaction = connection.begin()
            try:
                yield connection
            except BaseException:
                transaction.rollback()
                raise
            transaction.commit()
        finally:
            connection.close()


@contextmanager
def savepoint(connection: Connection) -> Iterator[None]:
    """Undo only what happened inside the block when it raises."""
    with connection.begin_nested():
        yield


def _lock_of(engine: Engine) -> threading.RLock:
    with _locks_guard:
        return _locks.setdefault(str(engine.url), threading.RLock())


def _on_connect(raw, _record) -> None:
    # The driver's own transaction handling begins too late and never IMMEDIATE; BEGIN is ours.
    raw.isolation_level = None
    cursor = raw.cursor()
    cursor.execute(f"PRAGMA busy_timeout = {BUSY_TIMEOUT_MS}")
    cursor.execute("PRAGMA journal_mode = WAL")
    # FULL, because with NORMAL a power cut in WAL mode loses commits already acknowledged.
    cursor.execute("PRAGMA synchronous = FULL")
    cursor.execute("PRAGMA foreign_keys = ON")
    # Without this, INSERT OR REPLACE deletes a row without waking its append-only trigger.
    cursor.execute("PRAGMA recursive_triggers = ON")
    cursor.close()


def _on_begin(connection: Connection) -> None:
    # A transaction that reads first and writes later cannot wait for another writer in SQLite,
    # it fails at once; a writer therefore says so when it begins.
    writes = connection.get_execution_options().get("dosebook_write", False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")
