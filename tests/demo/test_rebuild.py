"""What is derived from the log comes out the same when it is made anew, also after an upgrade."""

import json
import sqlite3
from contextlib import closing

import pytest
from alembic import command
from alembic.config import Config

from api import cli
from api.app import PROJECTORS
from api.migrations import run
from api.storage.engine import open_engine, write
from api.sync.rebuild import rebuild

DERIVED = ("document", "record_index", "departure", "handpiece_use", "job", "rendering")


def rows(path):
    with sqlite3.connect(path) as raw:
        # Counted with the last entry of a record, not with the one that changed the count: a tablet
        # gets it once more, and that is all.
        raw.execute("UPDATE document SET position = 0 WHERE kind = 'handpiece_use'")
        found = {name: sorted(raw.execute(f"SELECT * FROM {name}").fetchall()) for name in DERIVED}
        raw.rollback()
    return found


@pytest.fixture
def copied(demo, tmp_path, monkeypatch):
    """Return the path of the demo's database, copied; the command line works on it."""
    with sqlite3.connect(demo.engine.url.database) as raw:
        raw.execute(f"VACUUM INTO '{tmp_path / 'copy.sqlite3'}'")
    monkeypatch.setenv("DOSEBOOK_DATA", str(tmp_path))
    monkeypatch.setenv("DATABASE_URL", f"sqlite:///{tmp_path / 'copy.sqlite3'}")
    return tmp_path / "copy.sqlite3"


def test_made_anew_everything_is_as_it_was(copied, capsys):
    before = rows(copied)
    assert all(before[name] for name in ("document", "record_index", "handpiece_use"))
    with sqlite3.connect(copied) as raw:
        for name in ("document", "record_index", "handpiece_use"):
            raw.execute(f"DELETE FROM {name}")
    assert cli.main(["db", "rebuild"]) == 0
    assert rows(copied) == before
    # On top of what is there: a preset must not get its versions twice.
    engine = open_engine(f"sqlite:///{copied}")
    with write(engine) as connection:
        assert rebuild(connection, projectors=PROJECTORS) == len(before["record_index"])
    engine.dispose()
    assert rows(copied) == before
    assert "records" in capsys.readouterr().out


def take_back(path):
    """Put what is in the database into the tables that the first revision makes."""
    old = path.with_name("old.sqlite3")
    engine = open_engine(f"sqlite:///{old}")
    with write(engine) as connection:
        config = Config()
        config.set_main_option("script_location", str(run.FOLDER))
        config.attributes["connection"] = connection
        command.upgrade(config, "0001")
    engine.dispose()
    with closing(sqlite3.connect(old)) as raw:
        raw.execute("ATTACH ? AS later", (str(path),))
        tables = raw.execute(
            "SELECT name FROM main.sqlite_master WHERE type = 'table'"
            " AND name NOT IN ('alembic_version', 'sqlite_sequence')"
        ).fetchall()
        for (table,) in tables:
            columns = raw.execute("SELECT name FROM pragma_table_info(?, 'main')", (table,))
            names = ", ".join(name for (name,) in columns)
            raw.execute(f"INSERT INTO main.{table} ({names}) SELECT {names} FROM later.{table}")
        raw.commit()
    for suffix in ("-wal", "-shm"):
        path.with_name(path.name + suffix).unlink(missing_ok=True)
    old.replace(path)


def test_an_older_database_is_read_after_its_upgrade(copied):
    """As the first version left it: no tables of later ones, and records without later fields."""
    before = rows(copied)
    take_back(copied)
    with sqlite3.connect(copied) as raw:
        found = raw.execute("SELECT doc_id, body FROM document WHERE kind = 'record'").fetchall()
        for record_id, body in found:
            record = json.loads(body)
            for name in ("lists", "versions", "handovers", "reattributions", "voided", "removals"):
                record.pop(name)
            raw.execute("UPDATE document SET body = ? WHERE doc_id = ?",
                        (json.dumps(record), record_id))  # fmt: skip
    assert cli.main(["db", "upgrade"]) == 0
    assert rows(copied) == before
    assert cli.main(["db", "upgrade"]) == 0
