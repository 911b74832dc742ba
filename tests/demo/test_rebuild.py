"""What is derived from the log comes out the same when it is made anew, also after an upgrade."""

import json
import sqlite3

import pytest

from api import cli
from api.app import PROJECTORS
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


def test_an_older_database_is_read_after_its_upgrade(copied):
    """As the first version left it: no tables of later ones, and records without later fields."""
    before = rows(copied)
    with sqlite3.connect(copied) as raw:
        for name in ("attachment", "departure", "handpiece_use"):
            raw.execute(f"DROP TABLE {name}")
        raw.execute("DROP INDEX ix_record_index_location_id_started_utc_record_id")
        raw.execute(
            "CREATE INDEX ix_record_index_location_id_started_utc"
            " ON record_index (location_id, started_utc)"
        )
        for column in ("words", "placed_version"):
            raw.execute(f"ALTER TABLE record_index DROP COLUMN {column}")
        raw.execute("UPDATE alembic_version SET version_num = '0001'")
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
