"""The command line: exit codes 0 done, 1 does not hold, 2 bad usage or input."""

import json
import re
import sqlite3

import pytest

from api import cli
from api.demo.tablet_client import Refused
from tests.web.practice import Practice


@pytest.fixture
def command(settings, monkeypatch, capfd):
    """Return a function: arguments -> (exit code, standard output, standard error)."""
    monkeypatch.setenv("DOSEBOOK_DATA", str(settings.data_dir))
    monkeypatch.delenv("DATABASE_URL", raising=False)

    def run(*arguments: str) -> tuple[int, str, str]:
        try:
            code = cli.main(list(arguments))
        except SystemExit as stopped:
            code = stopped.code
        out, err = capfd.readouterr()
        return code, out, err

    return run


@pytest.fixture
def file(settings):
    """Return the database file for tampering."""
    with sqlite3.connect(settings.database_url.removeprefix("sqlite:///")) as raw:
        yield raw


def test_a_missing_setting_is_named(command, monkeypatch):
    monkeypatch.delenv("DOSEBOOK_DATA")
    for arguments in (("db", "upgrade"), ("serve",), ("log", "verify")):
        code, out, err = command(*arguments)
        assert (code, out) == (2, "")
        assert "DOSEBOOK_DATA" in err


@pytest.mark.parametrize(
    "arguments",
    [(), ("nothing",), ("dose",), ("dose", "file"), ("log",), ("tablet", "revoke"), ("db", "drop")],
)
def test_bad_usage_exits_2(command, arguments):
    code, out, err = command(*arguments)
    assert (code, out) == (2, "")
    assert err.startswith("usage: dosebook")


def test_upgrading_twice_is_upgrading_once(command):
    first = command("db", "upgrade")
    assert first[0] == 0
    assert command("db", "upgrade") == first


def test_a_database_without_tables_is_told_in_our_words(command, monkeypatch, tmp_path):
    monkeypatch.setenv("DATABASE_URL", f"sqlite:///{tmp_path}/empty.sqlite3")
    code, out, err = command("log", "verify")
    assert (code, out) == (1, "")
    assert err.splitlines()[-1] == "The database cannot be used. Has `dosebook db upgrade` run?"


def test_a_sound_log_holds(command, practice):
    tablet = practice.tablet("clinician")
    practice.signed_record(tablet)
    tablet.push()
    code, out, _ = command("log", "verify")
    # One opening, three people, one tablet, five events of the procedure.
    assert (code, out) == (0, "10 entries hold\n")
    code, out, _ = command("log", "verify", "--json")
    report = json.loads(out)
    assert (code, report["ok"], report["entries"]) == (0, True, 10)


def test_a_changed_entry_does_not_hold_and_is_named(command, practice, file):
    # Whoever can write to the file can also take its triggers away; the hashes still tell.
    for (name,) in file.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
        file.execute(f'DROP TRIGGER "{name}"')
    changed = file.execute(
        "UPDATE event SET body = replace(body, 'person.registered', 'person.registereD') "
        "WHERE position = 3"
    )
    assert changed.rowcount == 1
    file.commit()
    code, out, err = command("log", "verify")
    assert (code, out) == (1, "")
    assert "position 3 does not hold" in err.splitlines()[-1]
    code, out, _ = command("log", "verify", "--json")
    assert code == 1
    assert json.loads(out)["first_bad"]["position"] == 3


def test_a_code_from_the_command_line_enrols_a_tablet_that_can_be_revoked(
    command, practice: Practice, clock
):
    code, out, err = command("tablet", "code", "--location", practice.location_id, "--json")
    assert (code, err) == (0, "")
    made = json.loads(out)
    tablet = practice.tablet()
    tablet.enrol(made["code"])
    tablet_id = tablet.identity["tablet_id"]
    code, out, _ = command("tablet", "list", "--json")
    listed = {row["tablet_id"]: row for row in json.loads(out)}
    assert listed[tablet_id]["revoked_at"] is None
    assert command("tablet", "revoke", tablet_id)[0] == 0
    _, out, _ = command("tablet", "list")
    [line] = [line for line in out.splitlines() if line.startswith(tablet_id)]
    assert "revoked" in line
    with pytest.raises(Refused) as refused:
        tablet.pull()
    assert refused.value.code == "tablet_revoked"
    assert command("tablet", "revoke", tablet_id)[0] == 1


def test_a_code_for_each_location(command, practice: Practice, app, clock):
    other = Practice(app, clock, name="Other", roles=("clinician",))
    code, out, err = command("tablet", "code", "--each")
    assert (code, err) == (0, "")
    told = dict(
        re.match(r".+ \((\S+)\): (\S+)  \(once", line).groups() for line in out.splitlines()
    )
    assert set(told) == {practice.location_id, other.location_id}
    for each in (practice, other):
        tablet = each.tablet()
        tablet.enrol(told[each.location_id])
        assert tablet.identity["location_id"] == each.location_id


def test_a_code_needs_a_location_and_a_sensible_life(command, practice):
    code, out, err = command("tablet", "code", "--location", "none")
    assert (code, out) == (2, "")
    assert practice.location_id in err
    for minutes in ("0", "-5", "100000"):
        code, out, err = command(
            "tablet", "code", "--location", practice.location_id, "--valid-minutes", minutes
        )
        assert (code, out) == (2, "")
        assert "--valid-minutes" in err


def test_a_record_is_proved_by_its_id(command, practice, tmp_path):
    tablet = practice.tablet("clinician")
    record_id = practice.signed_record(tablet)
    tablet.push()
    code, out, _ = command("log", "prove", record_id)
    assert code == 0
    assert out.count("  payload ") == 5
    assert out.splitlines()[-1] == "5 entries hold: 5 signed, 5 by known keys"
    code, out, _ = command("log", "prove", record_id, "--json")
    file = tmp_path / "proof.json"
    file.write_text(out, encoding="utf-8")
    assert command("log", "check-proof", str(file))[0] == 0
    assert command("log", "prove", "no-such-record")[0] == 1
    assert command("log", "prove", record_id, "--location", "another")[0] == 1
