"""The commands of both sides, in one process: what they print, and the codes that they end with."""

import json
from io import StringIO
from urllib.parse import urlsplit

import pytest

from api.cli import main
from api.commands.common import BAD_USAGE, DOES_NOT_HOLD, DONE
from api.group import client
from api.storage import readers
from api.storage.engine import open_engine, read

ADDRESS = "http://localhost"


@pytest.fixture
def at(monkeypatch, capsys):
    """Run a command on a machine, that is in its folder; return (exit code, what it printed)."""

    def run(folder, *arguments, typed=""):
        monkeypatch.setenv("DOSEBOOK_DATA", str(folder))
        monkeypatch.delenv("DATABASE_URL", raising=False)
        monkeypatch.setattr("sys.stdin", StringIO(typed))
        capsys.readouterr()
        code = main(list(arguments))
        return code, capsys.readouterr().out

    return run


@pytest.fixture
def wired(strangers, monkeypatch):
    """Both servers; what commands send goes to the group by the wire of the test."""

    def over(address, **_):
        assert urlsplit(address).hostname == "localhost"
        return strangers.wire

    monkeypatch.setattr(client, "over_http", over)
    return strangers


def test_from_joining_to_coming_back_after_a_fire(wired, at, tmp_path, monkeypatch):
    group, here, new = tmp_path / "group", wired.settings.data_dir, tmp_path / "new"
    new.mkdir()
    # The clocks of commands are this machine's.
    monkeypatch.setattr("api.clock.SystemClock.now", lambda _: wired.clock.now())
    code, out = at(group, "group", "code")
    assert (code, len(out.strip())) == (DONE, 31)
    assert at(here, "replicate", "status")[0] == DOES_NOT_HOLD
    code, joined = at(here, "replicate", "join", ADDRESS, out.strip())
    assert code == DONE
    assert "follows Lantern Dental from now on" in joined
    assert at(here, "replicate", "join", ADDRESS, "ABC")[0] == BAD_USAGE
    code, once = at(here, "replicate", "--once", "--json")
    position = json.loads(once)["sent"]
    assert (code, position > 0) == (DONE, True)
    code, status = at(here, "replicate", "status", "--json")
    [location] = json.loads(status)["locations"]
    assert (code, location["waiting"], location["position"]) == (DONE, 0, position)

    [practice] = json.loads(at(group, "group", "list", "--json")[1])["practices"]
    code, restore_code = at(group, "group", "restore-code", practice["practice_id"])
    restore = ("restore", "--from-group", ADDRESS, "--code", restore_code.strip())
    assert at(new, *restore)[0] == BAD_USAGE
    said = ("--who", "Moss Standin", "--why", "the house burned")
    code, back = at(new, *restore, *said, typed=wired.words)
    assert code == DONE
    assert f"goes on after entry {position}" in back
    assert at(new, "log", "verify")[0] == DONE
    mine = wired.rows(wired.house.engine, wired.practice.location_id)
    engine = open_engine(f"sqlite:///{new / 'dosebook.sqlite3'}", reach=("*",))
    with read(engine) as connection:
        assert readers.log_position(engine) == len(mine) + 1
        [row] = readers.locations(connection)
    assert wired.rows(engine, row["location_id"])[:-1] == mine
    engine.dispose()
    # It is the practice again: the group goes on with it.
    assert at(new, "replicate", "--once")[0] == DONE


def test_a_group_that_is_away_ends_a_contact_with_one(wired, at, tmp_path):
    wired.join()

    def away(*_):
        raise OSError("no route")

    wired.wire.spoil = away
    assert at(wired.settings.data_dir, "replicate", "--once")[0] == DOES_NOT_HOLD
    assert at(tmp_path / "group", "group", "settle", "nothing")[0] == BAD_USAGE
