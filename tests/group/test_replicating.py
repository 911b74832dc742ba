"""Practice -> group: every entry once, in order, to the byte; whatever happens on the way."""

import json
from datetime import timedelta

import pytest

from api.events import signing
from api.group import client, entries, link, replicating, words
from api.group.client import Refused, Unreachable
from api.storage import documents, followed, readers, replication
from api.storage.engine import read, write
from api.work.replication import LONGEST_PAUSE_S, pause_s
from tests.group.conftest import side_of

both = pytest.mark.both_databases
both_long = pytest.mark.both_databases(long=True)


@both
def test_a_practice_s_log_comes_to_be_at_the_group_to_the_last_byte(two, chair):
    tablet, note = chair
    record_id = two.practice.signed_record(tablet)
    tablet.push()
    note("the last")
    assert two.once()["sent"] == len(two.rows(two.house.engine, two.practice.location_id))
    assert two.same()
    # And comes to the same by the same code.
    kinds = ("record", "person", "location", "tablet")
    with read(two.house.engine) as mine, read(two.group.engine) as theirs:
        for kind in kinds:
            here = documents.list(mine, two.practice.location_id, kind)
            assert here and here == documents.list(theirs, two.practice.location_id, kind)
        assert documents.get(theirs, two.practice.location_id, "record", record_id) is not None


@pytest.mark.long
@both_long
def test_a_second_contact_sends_only_what_is_new(two, chair):
    _, note = chair
    two.once()
    assert two.once()["sent"] == 0
    note("one more")
    assert two.once()["sent"] == 1
    assert two.same()


@both_long
def test_more_than_one_batch_and_the_place_that_is_kept(two, chair, monkeypatch):
    monkeypatch.setattr(entries, "MOST_ENTRIES", 3)
    _, note = chair
    for number in range(10):
        note(f"note {number}")
    two.once()
    assert two.same()
    assert two.wire.asked.count("/api/v1/group/entries") > 3
    with read(two.house.engine) as connection:
        [lag] = replication.lags(connection)
        row = replication.get(connection, two.practice.location_id)
    assert (lag["waiting"], lag["problem"]) == (0, None)
    said = words.read(
        signing.public_key_text(two.group.server_key),
        "receipt",
        {"text": row["receipt"], "signature": row["receipt_signature"]},
    )
    assert (said["position"], bytes.fromhex(said["link"])) == (row["position"], row["link"])


def test_a_request_stays_below_what_a_server_reads(two, chair):
    tablet, _ = chair
    record_id = tablet.new_id()
    for _ in range(12):
        # Eight thousand characters that JSON writes as six each.
        tablet.record("procedure.noted", record_id, {"text": "\u0001" * 7000})
        tablet.push()
    sizes = []

    def measured(wire, path, body, headers):
        sizes.append(len(body))
        return wire.carry(path, body, headers)

    two.wire.spoil = measured
    two.once()
    assert two.same()
    assert max(sizes) < two.group_app.config["MAX_CONTENT_LENGTH"]


@pytest.mark.long
def test_a_request_that_is_too_long_is_halved(two, chair):
    """The group's server, or a proxy before it, may take less than ours sends."""
    _, note = chair
    for number in range(6):
        note(f"note {number}")
    lengths = []

    def narrow(wire, path, body, headers):
        if path.endswith("/entries") and len(json.loads(body)["entries"]) > 2:
            return 413, b'{"code": "too_large", "detail": "The request is too long."}'
        if path.endswith("/entries"):
            lengths.append(len(json.loads(body)["entries"]))
        return wire.carry(path, body, headers)

    two.wire.spoil = narrow
    two.once()
    assert max(lengths) <= 2
    assert two.same()


@pytest.mark.parametrize(
    ("table", "change", "too_long"),
    [
        ("payload", "payload = replace(payload, 'to be', 'not to be')", False),
        ("event", "body = replace(body, 'procedure.noted', 'procedure.notes')", False),
        ("event", "header = replace(header, 'applied', 'conflict')", True),
    ],
    ids=["payload", "body", "header"],
)
def test_an_entry_that_is_damaged_here_is_said_and_what_is_before_it_is_there(
    two, chair, table, change, too_long
):
    _, note = chair
    note("sound")
    note("sound too")
    place = two.practice.location_id
    last = two.rows(two.house.engine, place)[-1]
    damaged = last["position"] + 1
    note("to be damaged")
    note("after it")
    with write(two.house.engine) as connection:
        connection.exec_driver_sql(f"DROP TRIGGER {table}_no_update")
        changed = f"UPDATE {table} SET {change}"
        if table == "event":
            changed += f" WHERE position = {damaged}"
        connection.exec_driver_sql(changed)

    def narrow(wire, path, body, headers):
        if path.endswith("/entries") and len(json.loads(body)["entries"]) > 8:
            return 413, b'{"code": "too_large", "detail": "The request is too long."}'
        return wire.carry(path, body, headers)

    two.wire.spoil = narrow if too_long else None
    for _ in range(2):
        with pytest.raises(Refused) as refused:
            two.once()
        assert refused.value.code == "entry_damaged"
        assert refused.value.facts["problem"]["position"] == damaged
        with read(two.house.engine) as connection:
            [lag] = replication.lags(connection)
        assert (lag["position"], lag["problem"]) == (damaged - 1, "entry_damaged")
    mine = two.rows(two.house.engine, place)
    assert two.rows(two.group.engine, place) == mine[: damaged - 1]


@both_long
def test_a_lost_answer_loses_and_doubles_nothing(two, chair):
    _, note = chair
    note("before")
    lost = []

    def lose_answers(wire, path, body, headers):
        answer = wire.carry(path, body, headers)
        if path.endswith("/entries"):
            lost.append(path)
            raise OSError("cut")
        return answer

    two.wire.spoil = lose_answers
    with pytest.raises(Unreachable):
        two.once()
    assert lost
    with read(two.house.engine) as connection:
        [lag] = replication.lags(connection)
    assert lag["waiting"] > 0
    assert lag["problem"] == "group_unreachable"
    two.wire.spoil = None
    assert two.once()["sent"] == 0
    assert two.same()
    with read(two.house.engine) as connection:
        [lag] = replication.lags(connection)
    assert (lag["waiting"], lag["problem"]) == (0, None)


class Hasty:
    """A known-bad twin: it moves its place on before the group has said anything."""

    def __init__(self, two):
        self.two, self.position = two, 0

    def once(self):
        practice = side_of(self.two.house)
        to = link.get(self.two.settings)
        asking = client.Client(
            self.two.wire,
            self.two.clock,
            self.two.house.server_key,
            self.two.house.random,
            group_key=to.group_key,
            practice_id=to.practice_id,
        )
        asking.identify()
        place = self.two.practice.location_id
        with read(self.two.house.engine) as connection:
            before = readers.link_at(connection, place, self.position) or bytes(32)
        while batch := replicating.next_batch(practice, place, self.position, before):
            self.position = batch["after"] + len(batch["entries"])
            before = bytes.fromhex(batch["link"])
            asking.ask("/group/entries", batch)


@pytest.mark.long
def test_who_moves_on_before_the_answer_loses_entries(two, chair):
    _, note = chair
    note("before")
    hasty = Hasty(two)

    def cut(wire, path, body, headers):
        if path.endswith("/entries"):
            raise OSError("cut before it arrived")
        return wire.carry(path, body, headers)

    two.wire.spoil = cut
    with pytest.raises(Unreachable):
        hasty.once()
    two.wire.spoil = None
    note("after")
    # What was skipped never comes: the group takes nothing that it cannot chain to what it has.
    with pytest.raises(Refused, match="No log here"):
        hasty.once()
    assert two.histories() == []
    # Ours asks where the group is, and brings all of it.
    two.once()
    assert two.same()


def test_who_does_not_compare_takes_an_entry_twice(two, chair, monkeypatch):
    """The known-bad twin of taking in: without the comparison a repeated batch is a second one."""
    from api.group import taking

    _, note = chair
    note("once")
    two.once()
    again = two.wire.asked[:]
    batch = None

    def keep(wire, path, body, headers):
        nonlocal batch
        if path.endswith("/entries"):
            batch = (path, body, headers)
        return wire.carry(path, body, headers)

    two.wire.spoil = keep
    note("twice")
    two.once()
    assert again and batch is not None
    # The very same request once more: the same answer, and nothing is added.
    before = two.rows(two.group.engine, two.practice.location_id)
    status, _ = two.wire.carry(*batch)
    assert status == 200
    assert two.rows(two.group.engine, two.practice.location_id) == before
    monkeypatch.setattr(taking._Taking, "_not_here_yet", lambda self, history: self.rows)
    status, _ = two.wire.carry(*batch)
    rows = two.rows(two.group.engine, two.practice.location_id)
    doubled = len(two.histories()) > 1 or len(rows) > len(before)
    assert status != 200 or doubled


@both_long
@pytest.mark.parametrize(
    ("damage", "reason"),
    [
        (lambda entry: {**entry, "body": entry["body"].replace("procedure", "procedurf")}, "link"),
        (lambda entry: {**entry, "payload": entry["payload"] + " "}, "payload_hash"),
        pytest.param(
            lambda entry: {**entry, "event_id": entry["event_id"][:-1] + "z"},
            "columns",
            marks=pytest.mark.long,
        ),
        pytest.param(
            lambda entry: {**entry, "header": entry["header"] + " "},
            "link",
            marks=pytest.mark.long,
        ),
    ],
)
def test_what_was_damaged_on_the_way_is_found_and_comes_again(two, chair, damage, reason):
    _, note = chair
    two.once()
    note("sound")
    refused = []
    key = two.house.server_key

    def spoiled(wire, path, body, headers):
        if not path.endswith("/entries"):
            return wire.carry(path, body, headers)
        said = json.loads(body)
        said["entries"][0] = damage(said["entries"][0])
        raw = words.to_bytes(said)
        # Signed as if the practice itself had sent it so.
        text = words.request_text(
            path=path,
            at=headers["Dosebook-At"],
            body=raw,
            group_key=link.get(two.settings).group_key,
        )
        answer = wire.carry(path, raw, {**headers, "Dosebook-Signature": signing.sign(key, text)})
        refused.append(json.loads(answer[1]))
        return answer

    two.wire.spoil = spoiled
    with pytest.raises(Refused):
        two.once()
    assert [one["code"] for one in refused] == ["entry_damaged"]
    assert refused[0]["reason"] == reason
    two.wire.spoil = None
    two.once()
    assert two.same()


def test_a_body_that_was_changed_on_the_way_is_not_the_practice_s(two, chair):
    def changed(wire, path, body, headers):
        return wire.carry(path, body + (b" " if path.endswith("/meet") else b""), headers)

    two.wire.spoil = changed
    with pytest.raises(Refused) as refused:
        two.once()
    assert refused.value.code == "practice_unknown"


def test_a_request_of_another_day_is_refused(two, chair):
    kept = []

    def keep(wire, path, body, headers):
        if path.endswith("/meet"):
            kept.append((path, body, headers))
        return wire.carry(path, body, headers)

    two.wire.spoil = keep
    two.once()
    assert two.wire.carry(*kept[0])[0] == 200
    two.clock.advance(timedelta(days=1).total_seconds())
    status, answer = two.wire.carry(*kept[0])
    assert (status, json.loads(answer)["code"]) == (401, "request_old")


def test_a_practice_s_wrong_clock_keeps_it_out_of_nothing(two, chair):
    from api.clock import SteppedClock

    late = SteppedClock(two.clock.now() - timedelta(days=400))
    two.house_clock = late
    replication_ = two.replication()
    replication_.clock = late
    replication_.once()
    assert two.same()


def test_an_answer_that_another_server_signed_counts_nothing(two, chair):
    other = signing.new_private_key()

    def forged(wire, path, body, headers):
        status, raw = wire.carry(path, body, headers)
        answer = json.loads(raw)
        if path.endswith("/entries"):
            text = answer["said"]["text"]
            answer["said"]["signature"] = signing.sign(other, text)
        return status, json.dumps(answer).encode()

    two.wire.spoil = forged
    with pytest.raises(Refused) as refused:
        two.once()
    assert refused.value.code == "group_other"
    with read(two.house.engine) as connection:
        assert replication.lags(connection)[0]["position"] == 0


def test_an_answer_cut_at_every_byte_is_never_taken_for_one(two, chair):
    """Cut at any byte, an answer is no answer; the next contact finds everything there."""
    _, note = chair
    note("all of it")
    whole = {}

    def keep(wire, path, body, headers):
        status, raw = wire.carry(path, body, headers)
        whole[path.rsplit("/", 1)[1]] = raw
        return status, raw

    two.wire.spoil = keep
    two.once()
    for path, raw in whole.items():
        for end in range(len(raw.rstrip())):
            with pytest.raises(Unreachable):
                client._answer(200, raw[:end])
        assert client._answer(200, raw), path


def test_what_cannot_be_projected_is_kept_and_made_later(two, chair, monkeypatch):
    from api.group import projecting
    from api.sync.rebuild import rebuild

    tablet, _ = chair
    record_id = two.practice.signed_record(tablet)
    tablet.push()

    def broken(*_args):
        raise RuntimeError("a mistake of this version")

    monkeypatch.setattr(projecting, "some", broken)
    two.once()
    monkeypatch.undo()
    assert two.same()
    [history] = two.histories()
    assert history["unprojected"] == 1
    with write(two.group.engine) as connection:
        rebuild(connection, projectors=two.group.projectors)
        found = documents.get(connection, two.practice.location_id, "record", record_id)
    assert found["status"] == "signed"
    assert two.histories()[0]["unprojected"] == 0


def test_weeks_without_the_group_and_then_all_of_it(two, chair):
    _, note = chair

    def away(*_):
        raise OSError("no route")

    two.wire.spoil = away
    work = two.replication()
    for day in range(21):
        if day % 10 == 0:
            note(f"day {day}")
        two.clock.advance(24 * 3600)
        assert work.tick() > 0
    two.wire.spoil = None
    work.tick()
    assert work.failures == 0
    assert two.same()


def test_a_group_gives_what_it_follows_to_no_group_of_its_own(two, chair):
    two.once()

    class Above:
        def identify(self):
            return None

    done = replicating.contact(side_of(two.group), Above())
    assert done == {"sent": 0, "locations": 0, "offered": 0, "photographs": 0}
    with read(two.group.engine) as connection:
        assert replication.lags(connection) == []


def test_pauses_grow_and_are_spread():
    longest = [pause_s(failures, 1.0) for failures in range(1, 40)]
    # Doubling from five seconds: 5, 10, 20, ... and no more than a quarter of an hour.
    assert longest[:4] == [5, 10, 20, 40]
    assert longest[-1] == LONGEST_PAUSE_S == max(longest)
    assert pause_s(3, 0.0) == 10
    assert pause_s(3, 0.5) == 15


def test_a_desk_at_the_group_cannot_write_into_a_practice_s_log(two, chair):
    from api.errors import Conflict
    from api.sync import desk

    two.once()
    with pytest.raises(Conflict) as refused:
        desk.append_as_desk(
            two.group.engine,
            two.clock,
            two.group.server_key,
            location_id=two.practice.location_id,
            actor_id=None,
            type="procedure_kind.listed",
            entity_id="kind-1",
            payload={"text": "Biopsy", "code": None},
            idempotency_key="k",
            projectors=two.group.projectors,
            zone="UTC",
        )
    assert refused.value.code == "location_followed"


def test_a_tablet_of_the_practice_is_let_in_at_the_group_by_nobody(two, chair):
    tablet, _ = chair
    two.once()
    from api.demo.tablet_client import Refused as NotLetIn
    from api.demo.transport import from_test_client

    tablet.transport = from_test_client(two.group_app.test_client())
    tablet._token = None
    tablet.record("procedure.noted", tablet.new_id(), {"text": "astray"})
    with pytest.raises(NotLetIn):
        tablet.push()
    assert two.same()


def test_followed_states_are_the_ones_that_screens_name():
    assert (followed.CURRENT, followed.SET_ASIDE, followed.FORKED) == (
        "current",
        "set_aside",
        "forked",
    )
