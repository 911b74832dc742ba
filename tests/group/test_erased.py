"""What a practice erases is gone at the group as well, and comes back from it in no way."""

import json
from dataclasses import replace
from pathlib import Path

import pytest

from api.app import PROJECTORS
from api.audit.verify import verify_log
from api.backup import erasures, from_group
from api.errors import DomainError
from api.group import link
from api.storage.engine import open_engine
from tests.erasure.acts import MARK, House
from tests.group.conftest import Two

both_long = pytest.mark.both_databases(long=True)


def marks_in(engine) -> dict[str, int]:
    """Count, in every table, the rows that hold what was erased."""
    house = House.__new__(House)
    house.engine = engine
    return house.rows_with(MARK)


def told(two: Two) -> dict:
    return verify_log(two.group.engine)


def put_back(two: Two, folder: Path, **more) -> tuple:
    """Make the practice anew from its group in a folder: what that said, and its database."""
    folder.mkdir()
    there = replace(
        two.settings,
        data_dir=folder,
        database_url=f"sqlite:///{folder / 'dosebook.sqlite3'}",
        server_key_path=folder / "server_key.pem",
    )
    done = from_group.restore(
        there,
        two.clock,
        two.house.random,
        send=two.wire,
        address="http://localhost",
        code=two.code("restore", link.get(two.settings).practice_id),
        who="Moss Standin",
        why="fire",
        replace=False,
        ask_recovery_key=lambda: two.words,
        projectors=PROJECTORS,
        **more,
    )
    return done, open_engine(there.database_url, reach=("*",))


@both_long
def test_what_was_replicated_goes_when_the_order_comes(two):
    house = House(two.practice)
    record_id, _ = house.record(picture=None)
    two.once()
    assert marks_in(two.group.engine)["payload"] > 0
    house.erase(record_id)
    house.work()
    two.once()
    # The body of an event names no patient; whatever did is gone, and the chain still holds.
    assert marks_in(two.group.engine) == {}
    report = told(two)
    assert report["first_bad"] is None
    assert report["locations"][0]["erased"] == house.verified()["locations"][0]["erased"] != []
    assert two.same()


@both_long
def test_what_was_erased_before_it_was_replicated_never_gets_there(two, tmp_path):
    house = House(two.practice)
    record_id, _ = house.record(picture=None)
    house.erase(record_id)
    house.work()
    two.once()
    assert marks_in(two.group.engine) == {}
    assert told(two)["first_bad"] is None
    assert two.same()
    if not two.settings.database_url.startswith("sqlite"):
        return
    # And what comes back from the group has its place in the log, and nothing in it.
    _, engine = put_back(two, tmp_path / "new")
    assert marks_in(engine) == {}
    assert verify_log(engine)["first_bad"] is None
    engine.dispose()


@pytest.mark.long
def test_what_the_group_never_heard_of_is_erased_again_by_the_list(two, tmp_path):
    """The server burnt before the erasure went to the group; the list lay beside the backups."""
    house = House(two.practice)
    record_id, _ = house.record(picture=None)
    two.once()
    house.erase(record_id)
    listed = two.settings.data_dir / erasures.NAME
    done, engine = put_back(two, tmp_path / "new", erased_in=[listed])
    assert (done["erased_again"], done["rewritten"]) == (1, True)
    assert marks_in(engine) == {}
    assert verify_log(engine)["first_bad"] is None
    engine.dispose()
    # Known-bad: without the list the group gives it back.
    done, engine = put_back(two, tmp_path / "other")
    assert done["erased_again"] == 0
    assert marks_in(engine) != {}
    engine.dispose()


def test_content_that_is_not_there_and_nobody_ordered_away_is_named_and_nothing_put_in_place(
    two, chair, tmp_path
):
    tablet, _ = chair
    two.practice.signed_record(tablet)
    tablet.push()
    two.once()
    rows = two.rows(two.group.engine, two.practice.location_id)
    gone = [row["position"] for row in rows if row["type"] in ("pass.started", "record.signed")]
    assert len(gone) == 2

    def without(wire, path, body, headers):
        status, answer = wire.carry(path, body, headers)
        if path.endswith("/restore/entries"):
            page = json.loads(answer)
            for entry in page["entries"]:
                if json.loads(entry["header"])["position"] in gone:
                    entry["salt"] = entry["payload"] = None
            answer = json.dumps(page).encode()
        return status, answer

    two.wire.spoil = without
    with pytest.raises(DomainError) as refused:
        put_back(two, tmp_path / "new")
    assert refused.value.code == "group_log_lacks"
    assert refused.value.facts["positions"] == gone
    assert ", ".join(str(each) for each in gone) in refused.value.message
    assert not (tmp_path / "new" / "dosebook.sqlite3").exists()
