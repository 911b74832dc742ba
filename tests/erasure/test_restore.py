"""A backup made before an erasure is put back: what was erased goes again, and stays away."""

import json
from dataclasses import replace
from pathlib import Path

import pytest
from sqlalchemy import make_url

from api.app import PROJECTORS, create_app
from api.audit.verify import verify_log
from api.backup import erasures, keys, making, restoring
from api.demo.transport import from_test_client
from api.events import signing
from tests.erasure.acts import MARK, PICTURE, House, files_with, part_of
from tests.postgresql import OWNER
from tests.web.practice import Practice, settled


@pytest.fixture
def practice(app, clock, request, database_url, monkeypatch) -> Practice:
    """A location with two people who may erase."""
    if not database_url.startswith("sqlite"):
        server = request.getfixturevalue("postgresql_server")
        monkeypatch.setenv("DOSEBOOK_PG_BIN", str(server.programs))
    return settled(app, clock, roles=("clinician", "manager"))


@pytest.fixture
def settings(settings, database_url):
    """As elsewhere, and on a server with the role that owns the tables."""
    if database_url.startswith("sqlite"):
        return settings
    owner = make_url(database_url).set(username=OWNER)
    return replace(settings, database_owner_url=owner.render_as_string(hide_password=False))


@pytest.fixture
def restored(practice, settings, clock, tmp_path):
    """Erase after a backup, and put the backup back: what that came to."""
    house = House(practice)
    random = practice.house.random
    keys.new_recovery_key(settings, clock, random)
    record_id, tablet = house.record()
    made = making.make(settings, house.engine, clock, random, folder=tmp_path / "backups" / "here")
    # Written after the backup, about the same record: to come back from the tablet, without this.
    tablet.record("procedure.noted", record_id, {"text": f"after {MARK}"})
    tablet.push()
    house.erase(record_id)
    house.work()
    house.engine.dispose()

    def put_back(*, forget: bool = False):
        if forget:
            (settings.data_dir / erasures.NAME).unlink()
            (tmp_path / "backups" / "here" / erasures.NAME).unlink()
        return restoring.restore(
            settings,
            clock,
            random,
            folder=Path(made["path"]),
            who="Whoever looks after the server",
            why="the disk broke",
            replace=True,
            ask_recovery_key=lambda: pytest.fail("the key is here"),
            projectors=PROJECTORS,
        )

    return house, record_id, tablet, put_back


def opened(settings, clock, practice):
    """Start the server anew on what was put back."""
    app = create_app(settings, clock=clock)
    practice.app, practice.house = app, app.extensions["dosebook"]
    return House(practice)


@pytest.mark.both_databases(long=True)
def test_what_was_erased_after_the_backup_is_erased_again(
    restored, settings, clock, practice, database_url
):
    _, record_id, tablet, put_back = restored
    done = put_back()
    assert done["erased_again"] == 1
    house = opened(settings, clock, practice)
    report = verify_log(house.engine)
    assert report["ok"], report["first_bad"]
    assert len(report["locations"][0]["erased"]) == 6
    assert house.payloads(record_id) == [None] * 6
    assert house.rows_with(MARK) == {}
    if database_url.startswith("sqlite"):
        assert done["rewritten"]
        live = settings.data_dir / "dosebook.sqlite3"
        assert MARK.encode() not in live.read_bytes()
        assert part_of(PICTURE) not in live.read_bytes()

    # The tablet hands in what the backup did not have: it is taken without its content.
    tablet.identity["epoch"] = done["locations"][0]["epoch"]
    tablet._transport = from_test_client(practice.app.test_client())
    tablet.prove()
    last = tablet.outbox[-1]
    last.result = None
    assert [one["outcome"] for one in tablet.push()] == ["applied"]
    assert house.payloads(record_id) == [None] * 7
    assert house.rows_with(MARK) == {}
    report = verify_log(house.engine)
    assert report["ok"], report["first_bad"]
    assert len(report["locations"][0]["erased"]) == 7
    record = house.document("record", record_id)
    assert (record["status"], record["erased"]["citation"]) == ("erased", "House rule 7")
    # The first who asked and decided are named, not whoever restored.
    people = practice.people
    assert (record["erased"]["asked_by"], record["erased"]["by"]) == (
        people["clinician"],
        people["manager"],
    )
    house.engine.dispose()


def test_without_the_list_a_restore_would_bring_it_back(restored, settings, clock, practice):
    """The known-bad one: why the list lies beside the backups."""
    _, record_id, _, put_back = restored
    assert put_back(forget=True)["erased_again"] == 0
    house = opened(settings, clock, practice)
    assert None not in house.payloads(record_id)
    assert house.rows_with(MARK) != {}
    house.engine.dispose()


@pytest.mark.long
def test_a_list_says_nothing_of_a_patient_and_only_what_the_server_signed_counts(
    restored, settings, tmp_path, practice
):
    _, record_id, _, _ = restored
    files = [settings.data_dir / erasures.NAME, tmp_path / "backups" / "here" / erasures.NAME]
    [line], [same] = (file.read_text().splitlines() for file in files)
    assert line == same and MARK not in line
    key = signing.public_key_text(practice.house.server_key)
    assert [one["record_id"] for one in erasures.known(files, key)] == [record_id]
    said = json.loads(line)
    forged = tmp_path / "forged.jsonl"
    forged.write_text(json.dumps({**said, "text": said["text"].replace(record_id, "r")}) + "\n")
    torn = tmp_path / "torn.jsonl"
    torn.write_text(line[: len(line) // 2])
    assert erasures.known([forged, torn, tmp_path / "none.jsonl"], key) == []
    spoilt = tmp_path / "spoilt.jsonl"
    spoilt.write_bytes(b"\xff\x00\n" + line.encode() + b"\n")
    assert [one["record_id"] for one in erasures.known([spoilt], key)] == [record_id]
    assert files_with(tmp_path / "backups", MARK.encode()) != []


def test_a_list_that_is_not_there_is_no_empty_one(tmp_path, capsys):
    from api import cli

    with pytest.raises(SystemExit) as ended:
        cli.main(["restore", str(tmp_path), "--erasures", str(tmp_path / "mistyped.jsonl")])
    assert ended.value.code == 2
    assert "mistyped.jsonl is not there" in capsys.readouterr().err
