"""A practice that was put back, or of which there are two: found, said, and nothing of it lost."""

import shutil
from pathlib import Path

import pytest
from sqlalchemy import make_url

from api.app import PROJECTORS
from api.audit.verify import verify_log
from api.backup import making, restoring
from api.group import projecting, taking
from api.group.client import Refused
from api.storage import documents, followed, jobs, readers, replication
from api.storage.engine import read, write
from tests.group.conftest import side_of

both = pytest.mark.both_databases


def states(two) -> list[tuple[str, int, int]]:
    return [(one["state"], one["position"], one["from_position"]) for one in two.histories()]


def problem(two) -> str | None:
    with read(two.house.engine) as connection:
        return replication.lags(connection)[0]["problem"]


@pytest.fixture
def backup(two, request, database_url, monkeypatch, tmp_path):
    """Return a function that makes a backup of the practice, and one that goes back to it."""
    if not database_url.startswith("sqlite"):
        server = request.getfixturevalue("postgresql_server")
        monkeypatch.setenv("DOSEBOOK_PG_BIN", str(server.programs))

    def make():
        return making.make(
            two.settings, two.house.engine, two.clock, two.house.random, folder=tmp_path / "backups"
        )

    def back(made):
        two.house.engine.dispose()
        restoring.restore(
            two.settings,
            two.clock,
            two.house.random,
            folder=Path(made["path"]),
            who="Whoever looks after it",
            why="the disk broke",
            replace=True,
            ask_recovery_key=lambda: two.words,
            projectors=PROJECTORS,
        )

    return make, back


@pytest.mark.long
def test_put_back_to_where_the_group_is_it_simply_goes_on(two, chair, backup):
    make, back = backup
    _, note = chair
    note("in the backup")
    two.once()
    back(make())
    two.once()
    assert [state for state, *_ in states(two)] == ["current"]
    assert two.same()


def test_put_back_further_both_histories_are_kept_and_the_new_one_counts(two, chair, backup):
    make, back = backup
    tablet, note = chair
    note("in the backup")
    two.once()
    made = make()
    shared = two.histories()[0]["position"]
    note("after it")
    note("and this")
    two.once()
    lost = two.rows(two.group.engine, two.practice.location_id)
    with write(two.group.engine) as connection:
        jobs.enqueue(connection, "render_pdf", "r", 1, location_id=two.practice.location_id)
    back(made)
    two.once()
    # No paper of what no longer counts is tried for ever.
    with read(two.group.engine) as connection:
        assert jobs.of_record(connection, two.practice.location_id, "r") == []
    assert states(two) == [
        ("set_aside", len(lost), 0),
        ("current", shared + 1, shared),
    ]
    assert two.same()
    assert problem(two) is None
    # What the practice lost is still there, as it was acknowledged.
    assert two.rows(two.group.engine, two.practice.location_id) == lost
    # And what counts is read under its own name; what was set aside no longer is.
    current = two.histories()[1]["location_id"]
    with read(two.group.engine) as connection:
        assert documents.list(connection, two.practice.location_id, "person") == []
        assert documents.list(connection, current, "person") != []
        assert documents.list(connection, current, "record") != []
    del tablet


def test_a_new_history_that_cannot_be_projected_is_kept_and_made_later(
    two, chair, backup, monkeypatch
):
    from api.sync.rebuild import rebuild

    make, back = backup
    _, note = chair
    made = make()
    note("after the backup")
    two.once()
    back(made)

    def broken(*_args):
        raise RuntimeError("a mistake of this version")

    monkeypatch.setattr(projecting, "whole", broken)
    two.once()
    monkeypatch.undo()
    assert two.same()
    current = two.histories()[1]
    assert (current["state"], current["unprojected"]) == ("current", 1)
    with write(two.group.engine) as connection:
        rebuild(connection, projectors=two.group.projectors)
        assert documents.list(connection, current["location_id"], "person") != []
    assert two.histories()[1]["unprojected"] == 0


def test_what_is_erased_lies_in_no_history_that_nothing_explains_either(two):
    from tests.erasure.acts import House
    from tests.group.test_erased import marks_in

    house = House(two.practice)
    record_id, _ = house.record(picture=None)
    two.once()
    with write(two.group.engine) as connection:
        followed.note(connection, two.practice.location_id, state=followed.FORKED)
        projecting.clear(connection, two.practice.location_id)
    assert marks_in(two.group.engine)["payload"] > 0
    house.erase(record_id)
    house.work()
    with pytest.raises(Refused) as refused:
        two.once()
    assert refused.value.code == "group_forked"
    assert marks_in(two.group.engine) == {}
    assert verify_log(two.group.engine)["ok"]
    with read(two.group.engine) as connection:
        assert documents.list(connection, two.practice.location_id, "person") == []


def copy_of(database_url: str, target: Path) -> None:
    path = Path(make_url(database_url).database)
    for side in ("", "-wal"):
        if Path(f"{path}{side}").exists():
            shutil.copy(f"{path}{side}", f"{target}{side}")


def test_a_database_put_back_by_hand_is_found_and_nothing_is_lost(two, chair, tmp_path):
    """Without ``log.restored`` nothing explains it: another history, kept apart, and said."""
    _, note = chair
    note("shared")
    two.once()
    two.house.engine.dispose()
    copy_of(two.settings.database_url, tmp_path / "copy")
    note("only before")
    two.once()
    acknowledged = two.rows(two.group.engine, two.practice.location_id)
    two.house.engine.dispose()
    path = Path(make_url(two.settings.database_url).database)
    for side in ("-wal", "-shm"):
        Path(f"{path}{side}").unlink(missing_ok=True)
    shutil.copy(tmp_path / "copy", path)
    if (tmp_path / "copy-wal").exists():
        shutil.copy(tmp_path / "copy-wal", f"{path}-wal")
    # The group holds more than there is: said, and nothing is sent.
    with pytest.raises(Refused) as refused:
        two.once()
    assert refused.value.code == problem(two) == "group_ahead"
    two.practice.desk("clinician").command(
        "procedure_kind.listed", "kind-1", {"text": "Another way on", "code": None}
    )
    for _ in range(2):
        with pytest.raises(Refused) as refused:
            two.once()
        assert refused.value.code == problem(two) == "group_forked"
    [first, second] = two.histories()
    assert (first["state"], second["state"]) == ("current", "forked")
    assert two.rows(two.group.engine, first["location_id"]) == acknowledged
    mine = two.rows(two.house.engine, two.practice.location_id)
    assert two.rows(two.group.engine, second["location_id"]) == mine
    assert verify_log(two.group.engine)["ok"]
    with read(two.group.engine) as connection:
        assert documents.list(connection, second["location_id"], "person") == []
    # Somebody at the group finds out which of the two it is, and says so.
    with write(two.group.engine) as connection:
        history = followed.get(connection, second["location_id"])
        taking.put_in_force(connection, history, two.group.projectors)
    two.once()
    assert problem(two) is None
    assert two.same()


def test_an_epoch_that_nothing_explains_is_refused(two, chair):
    from api.storage import after_restore

    _, note = chair
    two.once()
    with write(two.house.engine) as connection:
        after_restore.begin_epoch(connection, two.practice.location_id, "another-epoch")
    with read(two.house.engine) as connection:
        epoch = readers.location_row(connection, two.practice.location_id)["epoch"]
    assert epoch == "another-epoch"
    two.practice.desk("clinician").command(
        "procedure_kind.listed", "kind-1", {"text": "From nowhere", "code": None}
    )
    with pytest.raises(Refused) as refused:
        two.once()
    assert refused.value.code == "entry_damaged"
    assert refused.value.facts["problem"]["reason"] == "epoch"
    del note


def test_another_practice_cannot_add_to_this_one_s_log(two, chair, tmp_path):
    from api.events import signing
    from api.group import client, joining, link, replicating, words
    from api.people import secrets

    two.once()
    before = two.rows(two.group.engine, two.practice.location_id)
    thief = signing.new_private_key()
    secret = two.code()[:11]
    statement = words.say(
        thief,
        "join",
        group_key=link.get(two.settings).group_key,
        code_hash=secrets.digest(secrets.plain_code(secret)),
        name="Another one",
    )
    with write(two.group.engine) as connection:
        joined = joining.join(
            connection,
            two.clock,
            two.group.random,
            two.group.server_key,
            secret=secret,
            statement=statement,
            public_key=signing.public_key_text(thief),
            name="Another one",
        )
    asking = client.Client(
        two.wire,
        two.clock,
        thief,
        two.house.random,
        group_key=link.get(two.settings).group_key,
        practice_id=joined["practice_id"],
    )
    with pytest.raises(Refused) as refused:
        replicating.contact(side_of(two.house), asking)
    assert refused.value.code == "location_of_other"
    assert two.rows(two.group.engine, two.practice.location_id) == before
