"""SQLite as we use it: one file, one writer at a time, nothing lost at a power cut."""

import sqlite3
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.engine import URL

BUSY_TIMEOUT_MS = 5000


def make_engine(url: URL, **options: Any) -> Engine:
    """Return an engine for a database file; ``options`` are those of SQLAlchemy."""
    engine = create_engine(url, pool_size=16, max_overflow=16, pool_timeout=30, **options)
    event.listen(engine, "connect", _on_connect)
    event.listen(engine, "begin", _on_begin)
    return engine


def _on_connect(raw, _record) -> None:
    # The driver's own transaction handling begins too late and never IMMEDIATE; BEGIN is ours.
    raw.isolation_level = None
    cursor = raw.cursor()
    cursor.execute(f"PRAGMA busy_timeout = {BUSY_TIMEOUT_MS}")
    try:
        cursor.execute("PRAGMA journal_mode = WAL")
    except UnicodeDecodeError:
        # What SQLite says of a broken file may quote bytes of it that are no text.
        raise sqlite3.DatabaseError("the database file is broken") from None
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
