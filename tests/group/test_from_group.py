"""A practice that lost its server and its backups, got back from the group; then its tablets."""

import shutil
from dataclasses import replace
from pathlib import Path

import pytest

from api.app import PROJECTORS, create_app
from api.audit.verify import verify_log
from api.backup import from_group
from api.demo.transport import from_test_client
from api.errors import BadInput, DomainError
from api.events import signing
from api.group import entries, link
from api.group.client import Refused
from api.storage import access, accounts, backups, documents, readers
from api.storage.engine import open_engine, read, write
from api.sync import epochs

both_long = pytest.mark.both_databases(long=True)
WHO = {"who": "Moss Standin", "why": "fire", "replace": False}


@pytest.fixture
def elsewhere(two, tmp_path, request, database_url):
    """Settings of a machine on which there is nothing yet."""
    folder = tmp_path / "new"
    folder.mkdir()
    url = f"sqlite:///{folder / 'dosebook.sqlite3'}"
    owner = None
    if not database_url.startswith("sqlite"):
        from tests.postgresql import OWNER

        server = request.getfixturevalue("postgresql_server")
        name = server.new_empty()
        url, owner = server.url(name), server.url(name, as_role=OWNER)
    return replace(
        two.settings,
        data_dir=folder,
        database_url=url,
        database_owner_url=owner,
        server_key_path=folder / "server_key.pem",
    )


def restore(two, elsewhere, *, words=None, code=None, **more):
    practice_id = link.get(two.settings).practice_id
    return from_group.restore(
        elsewhere,
        two.clock,
        two.house.random,
        send=two.wire,
        address="http://localhost",
        code=code or two.code("restore", practice_id),
        ask_recovery_key=lambda: words or two.words,
        projectors=PROJECTORS,
        **{**WHO, **more},
    )


@both_long
def test_the_log_is_back_up_to_what_was_replicated_and_tablets_bring_the_rest(
    two, chair, elsewhere, monkeypatch
):
    monkeypatch.setattr(entries, "MOST_ENTRIES", 4)
    tablet, note = chair
    record_id = two.practice.signed_record(tablet)
    tablet.push()
    tablet.pull()
    two.once()
    location_id = two.practice.location_id
    replicated = two.rows(two.house.engine, location_id)
    note("at the practice only")
    note("and this")
    done = restore(two, elsewhere)
    [begun] = done["locations"]
    with read(two.group.engine) as connection:
        given = access.search(connection, location_id, access.Wanted(actions=["export"]), limit=9)
    assert [one["subject_kind"] for one in given] == ["log"]
    assert (begun["location_id"], begun["position"]) == (location_id, len(replicated))

    app = create_app(elsewhere, clock=two.clock)
    house = app.extensions["dosebook"]
    rows = two.rows(house.engine, location_id)
    assert rows[:-1] == replicated
    assert rows[-1]["type"] == "log.restored"
    report = verify_log(house.engine)
    assert (report["ok"], report["entries"]) == (True, len(replicated) + 1)
    with read(house.engine) as connection:
        found = documents.get(connection, location_id, "record", record_id)
        assert found["status"] == "signed"
        # The group is no backup: tablets keep what they have until one was made here.
        assert backups.durable_position(connection, location_id) is None
        desk = accounts.desk_writer(connection, location_id)
    assert (
        desk["next_seq"]
        == max(row["tablet_seq"] for row in rows if row["tablet_id"] == desk["tablet_id"]) + 1
    )

    # The tablet is let in by its own key, is told from where on, and hands in what is missing.
    tablet.transport = from_test_client(app.test_client())
    tablet._token = None
    told = epochs.notice(
        house.engine,
        two.clock,
        house.server_key,
        tablet=tablet.identity,
        from_epoch=begun["old_epoch"],
    )
    assert f'"position":{len(replicated)}' in told["text"]
    tablet.identity["epoch"] = begun["epoch"]
    for event in tablet.outbox[-2:]:
        event.result = None
    assert [one["outcome"] for one in tablet.push()] == ["applied", "applied"]
    assert verify_log(house.engine)["ok"]

    # And it goes on towards the group, as the one it was.
    two.practice.house, two.settings = house, elsewhere
    two.once()
    assert two.same()
    house.engine.dispose()


def test_other_words_open_nothing_and_leave_nothing(two, chair, elsewhere):
    from api.backup import recovery_key

    two.once()
    other = recovery_key.make(two.house.random)
    with pytest.raises(BadInput):
        restore(two, elsewhere, words=other)
    assert list(elsewhere.data_dir.iterdir()) == []


def test_a_code_alone_gives_no_entry(two, chair, elsewhere):
    """Whoever finds the code has not the practice's key, and is given no entry."""
    import json

    from api.group import words

    two.once()
    code = two.code("restore", link.get(two.settings).practice_id)
    body = {"code": code[:11], "location_id": two.practice.location_id, "after": 0}
    status, raw = two.wire.carry(
        "/api/v1/group/restore/entries",
        words.to_bytes(body),
        {"Content-Type": "application/json"},
    )
    assert (status, json.loads(raw)["code"]) == (401, "practice_unknown")


def test_a_code_to_join_is_none_to_restore_with(two, chair, elsewhere):
    two.once()
    with pytest.raises(Refused) as refused:
        restore(two, elsewhere, code=two.code())
    assert refused.value.code == "code_wrong"


def test_what_is_there_stays_where_nobody_said_that_it_may_go(two, chair):
    two.once()
    before = Path(two.settings.data_dir / "dosebook.sqlite3").read_bytes()
    with pytest.raises(DomainError) as refused:
        restore(two, two.settings)
    assert refused.value.code == "database_exists"
    assert Path(two.settings.data_dir / "dosebook.sqlite3").read_bytes() == before


@pytest.mark.parametrize(
    "spoilt",
    [
        "body",
        "let in",
        *(pytest.param(one, marks=pytest.mark.long) for one in ("payload", "gone", "swapped")),
    ],
)
def test_a_log_that_does_not_hold_is_refused_and_nothing_is_left(two, chair, elsewhere, spoilt):
    import json

    _, note = chair
    note("a word")
    two.once()

    def spoil(wire, path, body, headers):
        status, raw = wire.carry(path, body, headers)
        if not path.endswith("/restore/entries"):
            return status, raw
        answer = json.loads(raw)
        sent = answer["entries"]
        if spoilt == "gone":
            del sent[2]
        elif spoilt == "let in":
            # Who was shut out would be let in again.
            said = [{**json.loads(text), "unconfirmed": True} for text in answer["writers"]]
            answer["writers"] = [json.dumps(one) for one in said]
        elif spoilt == "swapped":
            sent[1], sent[2] = sent[2], sent[1]
        else:
            sent[-1][spoilt] = sent[-1][spoilt].replace("a", "b", 1)
        return status, json.dumps(answer).encode()

    two.wire.spoil = spoil
    with pytest.raises(DomainError) as refused:
        restore(two, elsewhere)
    assert refused.value.code == "group_log_broken"
    assert list(elsewhere.data_dir.iterdir()) == []


@pytest.mark.long
def test_a_cut_on_the_way_leaves_nothing_half_done_and_the_code_is_still_good(
    two, chair, elsewhere, monkeypatch
):
    monkeypatch.setattr(entries, "MOST_ENTRIES", 2)
    two.once()
    code = two.code("restore", link.get(two.settings).practice_id)
    pages = 0

    def cut(wire, path, body, headers):
        nonlocal pages
        pages += path.endswith("/restore/entries")
        if pages == 2:
            raise OSError("cut")
        return wire.carry(path, body, headers)

    two.wire.spoil = cut
    with pytest.raises(DomainError):
        restore(two, elsewhere, code=code)
    assert list(elsewhere.data_dir.iterdir()) == []
    two.wire.spoil = None
    assert restore(two, elsewhere, code=code)["locations"]
    with pytest.raises(Refused):
        restore(two, elsewhere, code=code, replace=True)


def test_what_another_server_offers_is_not_taken(two, chair, elsewhere):
    """Whatever stands between: the log's end and its writers are the group's signed word."""
    import json

    from api.group import words

    two.once()
    other = signing.new_private_key()

    def forged(wire, path, body, headers):
        status, raw = wire.carry(path, body, headers)
        if path.endswith("/group/restore"):
            said = json.loads(json.loads(raw)["said"]["text"])
            said.pop("kind")
            raw = json.dumps({"said": words.say(other, "offered", **said)}).encode()
        return status, raw

    two.wire.spoil = forged
    with pytest.raises(Refused) as refused:
        restore(two, elsewhere)
    assert refused.value.code == "group_other"
    assert list(elsewhere.data_dir.iterdir()) == []


def test_a_code_that_cannot_be_used_up_is_no_failure_once_all_is_in_place(two, chair, elsewhere):
    two.once()

    def cut(wire, path, body, headers):
        if path.endswith("/restore/done"):
            raise OSError("cut")
        return wire.carry(path, body, headers)

    two.wire.spoil = cut
    assert restore(two, elsewhere)["locations"]
    assert (elsewhere.data_dir / "dosebook.sqlite3").exists()


def test_a_code_is_used_up_by_the_practice_that_it_is_for(two, chair):
    from api.group import giving

    two.once()
    code = two.code("restore", link.get(two.settings).practice_id)[:11]
    with write(two.group.engine) as connection:
        with pytest.raises(BadInput) as refused:
            giving.done(connection, {"practice_id": "another"}, code, now=two.clock.now())
        assert refused.value.code == "code_wrong"
        assert giving.offered(connection, code, now=two.clock.now())["practice_id"] != "another"


def test_the_key_that_is_still_there_is_used_without_the_words(two, chair, elsewhere):
    two.once()
    shutil.copy(two.settings.server_key_path, elsewhere.server_key_path)

    def never():
        raise AssertionError("the recovery key was asked for")

    practice_id = link.get(two.settings).practice_id
    from_group.restore(
        elsewhere,
        two.clock,
        two.house.random,
        send=two.wire,
        address="http://localhost",
        code=two.code("restore", practice_id),
        ask_recovery_key=never,
        projectors=PROJECTORS,
        **WHO,
    )
    engine = open_engine(elsewhere.database_url, reach=("*",))
    with read(engine) as connection:
        assert readers.locations(connection)[0]["location_id"] == two.practice.location_id
    engine.dispose()
