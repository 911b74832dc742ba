"""The migrated file has the tables that the program believes in, and refuses what it must."""

import sqlite3
from contextlib import closing

import pytest
from alembic.autogenerate import compare_metadata
from alembic.runtime.migration import MigrationContext
from sqlalchemy import insert

from api.errors import BadInput
from api.migrations import run
from api.storage import tables
from api.storage.engine import IntegrityError, open_engine, read, write

ROWS = {
    "event": {
        **dict.fromkeys(("event_id", "tablet_id", "epoch", "received_at", "verdict"), "x"),
        **dict.fromkeys(("header", "body", "signature"), "x"),
        **dict.fromkeys(("body_hash", "header_hash", "link"), b"x"),
        "location_id": "l",
        "position": 1,
        "tablet_seq": 1,
    },
    "payload": {"location_id": "l", "event_id": "x", "salt": b"x", "payload": "x"},
    "access_log": {"access_id": 1, "at": "x", "action": "read"},
    "access_subject": {
        **dict.fromkeys(("location_id", "subject_id", "at"), "x"),
        "access_id": 1,
    },
    "rendering": {
        **dict.fromkeys(("location_id", "record_id", "kind", "sha256", "made_at"), "x"),
        "version": 1,
        "content": b"x",
    },
    "attachment": {
        **dict.fromkeys(("location_id", "sha256", "media_type", "received_at"), "x"),
        **dict.fromkeys(("size_bytes", "width_px", "height_px"), 1),
        "content": b"x",
    },
    "certificate": {
        **dict.fromkeys(("location_id", "sha256", "media_type", "received_at"), "x"),
        "size_bytes": 1,
        "content": b"x",
    },
    "followed_head": {
        **dict.fromkeys(("location_id", "epoch", "text", "signature", "received_at"), "x"),
        "position": 1,
    },
    "witness": {
        **dict.fromkeys(("location_id", "tablet_id", "epoch", "seen_at"), "x"),
        "position": 1,
        "link": b"x",
    },
    "erased": {
        **dict.fromkeys(("location_id", "kind", "what", "record_id", "at"), "x"),
        "by_position": 1,
    },
}
CHANGED = {
    "event": "verdict",
    "payload": "payload",
    "access_log": "action",
    "access_subject": "subject_id",
    "witness": "link",
    "followed_head": "text",
    "rendering": "sha256",
    "attachment": "content",
    "certificate": "content",
    "erased": "what",
}


def test_migrations_and_tables_say_the_same(engine):
    with read(engine) as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        assert compare_metadata(context, tables.metadata) == []


def test_upgrading_twice_changes_nothing(tmp_path):
    url = f"sqlite:///{tmp_path / 'deep' / 'folder' / 'a.sqlite3'}"
    assert run.upgrade(url) == run.upgrade(url)
    opened = open_engine(url)
    assert run.current_revision(opened) is not None
    opened.dispose()


def fill(engine):
    with write(engine) as connection:
        connection.execute(
            insert(tables.location).values(
                location_id="l", epoch="e", position=0, link=b"", opened_at="x"
            )
        )
        for name, row in ROWS.items():
            connection.execute(insert(tables.metadata.tables[name]).values(row))


def test_what_happened_cannot_be_changed_or_taken_away(engine):
    assert set(tables.APPEND_ONLY) == ROWS.keys()
    fill(engine)
    for name, row in ROWS.items():
        columns, marks = ",".join(row), ",".join("?" * len(row))
        for statement, values in [
            (f"UPDATE {name} SET {CHANGED[name]} = 'y'", ()),
            (f"DELETE FROM {name}", ()),
            (f"INSERT OR REPLACE INTO {name} ({columns}) VALUES ({marks})", tuple(row.values())),
        ]:
            with pytest.raises(IntegrityError, match="append-only"), write(engine) as connection:
                connection.exec_driver_sql(statement, values)


def test_a_connection_without_recursive_triggers_would_let_replace_through(engine):
    """The known-bad one: why the setting is made on every connection."""
    fill(engine)
    row = ROWS["payload"]
    with closing(sqlite3.connect(engine.url.database)) as careless:
        careless.execute(
            "INSERT OR REPLACE INTO payload (location_id, event_id, salt, payload)"
            " VALUES (?, ?, ?, 'forged')",
            (row["location_id"], row["event_id"], row["salt"]),
        )
        assert careless.execute("SELECT payload FROM payload").fetchone() == ("forged",)


def test_every_connection_is_set_up_for_keeping(engine):
    with read(engine) as connection:
        said = {
            name: connection.exec_driver_sql(f"PRAGMA {name}").scalar()
            for name in ("journal_mode", "synchronous", "foreign_keys", "recursive_triggers")
        }
    # synchronous 2 is FULL.
    assert said == {
        "journal_mode": "wal",
        "synchronous": 2,
        "foreign_keys": 1,
        "recursive_triggers": 1,
    }


@pytest.mark.parametrize(
    "url",
    ["sqlite://", "sqlite:///:memory:", "mysql://host/name", "postgresql+other://host/name", "no"],
)
def test_only_an_sqlite_file_or_a_server_is_opened(url):
    with pytest.raises(BadInput) as raised:
        open_engine(url)
    assert raised.value.code == "database_unsupported"
