"""Group -> practice: what is rolled out comes down once, as it was signed, and forces nothing."""

import json
from types import SimpleNamespace

import pytest

from api.audit.verify import verify_log
from api.errors import DomainError
from api.group import client, link, offers, receiving, words
from api.group.client import Refused, Unreachable
from api.storage import documents, readers, replication
from api.storage.engine import read, write
from api.sync import desk
from tests.web.equipment import DEVICE, TIP, preset
from tests.web.practice import Practice
from tests.web.test_lists import version

both = pytest.mark.both_databases(long=True)


class Both:
    """The two servers with a location of the group's own, and desks at either."""

    def __init__(self, two):
        self.two = two
        two.practice.people["safety_officer"] = two.practice._person("safety_officer")
        roles = ("safety_officer", "clinician")
        self.group = Practice(two.group_app, two.clock, name="Head office", roles=roles)
        self.officer = self.group.desk("safety_officer")
        self.officer.command("list.published", "time-out-1", version(1))
        self.here = two.practice.desk("safety_officer")

    def equip(self, practice, desk, *, laser="laser-1", tip="tip-1"):
        desk.command("device.registered", laser, DEVICE)
        desk.command("handpiece.registered", tip, {**TIP, "device_id": laser})

    def group_preset(self, number=1, **more):
        if number == 1:
            self.equip(self.group, self.officer)
            self.officer.command(
                "procedure_kind.listed", "kind-1", {"text": "Frenum", "code": None}
            )
        more = {"reviewed_by": self.group.people["safety_officer"], **more}
        base = None if number == 1 else number - 1
        self.officer.command(
            "preset.published",
            "preset-1",
            {**preset(self.group), "version": number, **more},
            base_version=base,
        )

    def roll_out(self, kind="list", source_id="time-out-1", practices=None, key=None, **more):
        self.two.clock.advance(1)
        key = key or f"roll-out-{self.two.clock.now().isoformat()}"
        said = {"kind": kind, "source_id": source_id, "practices": practices, **more}
        return self.officer.ask("POST", "/rollouts", said, **{"Idempotency-Key": key})["rollout_id"]

    def offered(self):
        return self.here.ask("GET", "/offers")["offers"]

    def states(self):
        """What the group's screen says, by roll-out: of the only practice, at its only place."""
        found = self.officer.ask("GET", "/rollouts")["rollouts"]
        return {one["rollout_id"]: one["practices"][0]["places"][0] for one in found}

    def entries(self, type):
        location_id = self.two.practice.location_id
        with read(self.two.house.engine) as connection:
            entries = readers.entries_after(connection, location_id, 0, limit=10**6)
        return [one for one in entries if (one["body"] or {}).get("type") == type]


@pytest.fixture
def whole(two):
    return Both(two)


@both
def test_a_list_comes_down_is_taken_over_and_the_group_hears_of_it(whole):
    first = whole.roll_out(note="As agreed in spring", effective_from="2030-01-01")
    whole.two.once()
    [one] = whole.offered()
    assert (one["offer_id"], one["state"], one["title"], one["version"]) == (
        first,
        "open",
        "Time-out",
        1,
    )
    assert [item["text"] for item in one["list"]["items"]] == [
        "Patient by two identifiers",
        "Site said aloud",
    ]
    assert (one["note"], one["effective_from"]) == ("As agreed in spring", "2030-01-01")
    assert (one["made_by"], one["group_name"]) == ("Test safety_officer", "Lantern Dental")
    # Nothing counts by it.
    assert whole.here.ask("GET", "/house?kind=list")["documents"] == []
    assert one["subject_id"] is None
    # The group has it back in the same contact.
    assert whole.states()[first]["state"] == "open"
    whole.here.command("list.published", "ours", version(1, from_offer=first))
    whole.two.once()
    assert whole.states()[first] | {"at": None} == {
        "location_id": whole.two.practice.location_id,
        "name": "North room",
        "state": "taken",
        "at": None,
        "by": "Test safety_officer",
        "reason": None,
        "version": 1,
    }
    [one] = whole.offered()
    assert (one["state"], one["answered"]["subject_id"], one["subject_id"]) == (
        "taken",
        "ours",
        "ours",
    )
    assert verify_log(whole.two.house.engine)["first_bad"] is None
    assert whole.two.same()


@both
def test_a_preset_is_looked_for_by_the_names_of_what_it_is_for(whole):
    whole.group_preset()
    first = whole.roll_out("preset", "preset-1")
    whole.two.once()
    [one] = whole.offered()
    assert one["errors"] == {
        "laser": ["is not known here"],
        "handpiece": ["is not known here"],
        "procedure": ["is not known here"],
    }
    assert one["preset"] is None
    # What can be read all the same, to be compared and completed by a person.
    assert one["settings"]["emission"] == {"mode": "continuous", "power": "4 W"}
    # The practice's own ids are others; its laser is called the same.
    whole.equip(whole.two.practice, whole.here, laser="ours", tip="our-tip")
    whole.here.command("procedure_kind.listed", "our-kind", {"text": "frenum", "code": None})
    [one] = whole.offered()
    assert one["errors"] == {}
    assert (one["preset"]["device_id"], one["preset"]["handpiece_id"]) == ("ours", "our-tip")
    assert one["preset"]["procedure_kind_id"] == "our-kind"
    assert one["preset"]["reviewed_by"] == whole.two.practice.people["safety_officer"]
    whole.here.command(
        "preset.published", "mine", {**one["preset"], "version": 1, "from_offer": first}
    )
    whole.two.once()
    assert whole.states()[first]["state"] == "taken"
    # The next version is the next one of what the first was taken over as.
    whole.group_preset(2, name="Frenum, finer", note="less char")
    second = whole.roll_out("preset", "preset-1")
    whole.two.once()
    newest, before = whole.offered()
    assert (newest["offer_id"], newest["subject_id"], newest["errors"]) == (second, "mine", {})
    assert before["state"] == "taken"
    whole.here.command("preset.offer_declined", second, {"reason": "Ours is measured"})
    whole.two.once()
    state = whole.states()[second]
    assert (state["state"], state["reason"]) == ("declined", "Ours is measured")
    with pytest.raises(DomainError) as refused:
        whole.here.command("preset.offer_declined", second, {"reason": "Once more"})
    assert refused.value.code == "offer_closed"


@both
def test_a_newer_one_replaces_an_open_one_and_an_older_one_that_comes_late_is_not_open(whole):
    first = whole.roll_out()
    whole.two.once()
    whole.officer.command("list.published", "time-out-1", version(2), base_version=1)
    second = whole.roll_out()
    whole.two.once()
    assert [(one["offer_id"], one["state"]) for one in whole.offered()] == [
        (second, "open"),
        (first, "replaced"),
    ]
    # As it would be where the first one had been held up: the same entries the other way round.
    made = sorted(whole.entries("list.offered"), key=lambda one: -one["position"])
    late = {"location_id": "elsewhere"}
    with write(whole.two.house.engine) as connection:
        undone = connection.begin_nested()
        for one in made:
            offers.project(connection, {**one, **late})
        found = documents.list(connection, "elsewhere", offers.OFFER)
        undone.rollback()
    assert {one["offer_id"]: one["state"] for one in found} == {second: "open", first: "replaced"}


def test_it_goes_to_whom_it_is_meant_for_only(whole):
    to = whole.two.replication()
    with pytest.raises(DomainError) as refused:
        whole.roll_out(practices=["nobody"])
    assert refused.value.code == "practice_unknown"
    mine = whole.officer.ask("GET", "/rollouts")["practices"][0]["practice_id"]
    with whole.two.group.engine.begin() as connection:
        connection.exec_driver_sql(
            "INSERT INTO practice (practice_id, name, public_key, enrolled_at)"
            " VALUES ('other', 'Other', 'k', '2026-01-01T00:00:00.000Z')"
        )
    theirs = whole.roll_out(practices=["other"])
    ours = whole.roll_out(practices=[mine])
    to.once()
    assert [one["offer_id"] for one in whole.offered()] == [ours]
    known = link.get(whole.two.settings)
    asking = client.Client(
        whole.two.wire,
        whole.two.clock,
        whole.two.house.server_key,
        whole.two.house.random,
        group_key=known.group_key,
        practice_id=known.practice_id,
    )
    asking.identify()
    with pytest.raises(Refused) as refused:
        asking.ask("/group/offer", {"rollout_id": theirs})
    assert refused.value.code == "rollout_unknown"


def test_the_same_press_rolls_out_once(whole):
    assert whole.roll_out(key="the-same-key") == whole.roll_out(key="the-same-key")
    whole.two.once()
    assert len(whole.offered()) == 1


def test_cut_and_repeated_it_is_written_down_once(whole):
    def goes_wrong(at, fault):
        """One more roll-out, with something wrong at the n-th request of the contact."""
        source_id = f"list-{at}-{fault}".replace(" ", "-")
        said = version(1, kind="pause", title="Pauses")
        whole.officer.command("list.published", source_id, said)
        whole.roll_out(source_id=source_id)
        count = 0

        def spoil(wire, path, body, headers):
            nonlocal count
            count += 1
            if count == at and fault == "cut there":
                raise OSError("cut")
            answer = wire.carry(path, body, headers)
            if count == at and fault == "twice":
                answer = wire.carry(path, body, headers)
            if count == at and fault == "cut back":
                raise OSError("cut")
            return answer

        whole.two.wire.spoil = spoil
        try:
            whole.two.once()
        except Unreachable:
            assert fault != "twice"
        whole.two.wire.spoil = None
        whole.two.once()

    for at in range(1, 5):
        for fault in ("cut there", "cut back", "twice"):
            goes_wrong(at, fault)
    written = [one["body"]["entity_id"] for one in whole.entries("list.offered")]
    assert len(written) == len(set(written)) == 12
    assert whole.two.same()


def doubled(whole) -> bool:
    whole.roll_out()
    for _ in range(2):
        whole.two.once()
    return len(whole.entries("list.offered")) > 1


def test_a_second_contact_writes_nothing_down_again(whole):
    assert not doubled(whole)


def test_who_does_not_look_what_is_there_writes_it_down_twice(whole, monkeypatch):
    """Known-bad stub: neither looks for the offer nor names it to the log."""

    def blind(engine, clock, key, location_id, one, projectors, random):
        desk.append_as_desk(
            engine,
            clock,
            key,
            location_id=location_id,
            actor_id=None,
            type="list.offered",
            entity_id=one["rollout_id"],
            payload=one["content"],
            idempotency_key=random(8).hex(),
            projectors=projectors,
            zone="UTC",
            random=random,
        )

    monkeypatch.setattr(receiving, "_write_down", blind)
    monkeypatch.setattr(receiving, "documents", SimpleNamespace(get=lambda *_: None))
    assert doubled(whole)


def altered_arrives(whole) -> bool:
    """Whether something that was changed on its way is offered to anybody."""
    whole.group_preset()
    whole.roll_out("preset", "preset-1")

    def forty_watts(wire, path, body, headers):
        status, answer = wire.carry(path, body, headers)
        return status, answer.replace(b"4 W", b"40 W")

    whole.two.wire.spoil = forty_watts
    try:
        whole.two.once()
    except Refused as problem:
        assert problem.code == "group_other"
    return len(whole.offered()) > 0


def test_what_the_group_did_not_sign_is_refused_and_the_log_goes_up_all_the_same(whole):
    assert not altered_arrives(whole)
    # It is said, and nothing of the log waits because of it.
    with read(whole.two.house.engine) as connection:
        [lag] = replication.lags(connection)
    assert (lag["waiting"], lag["problem"]) == (0, "group_other")
    assert whole.two.same()
    whole.two.wire.spoil = None
    whole.two.once()
    assert len(whole.offered()) == 1


def test_who_believes_without_a_signature_offers_what_was_altered(whole, monkeypatch):
    """Known-bad stub: reads what is said and does not look at the signature."""

    def believed(_key, kind, statement):
        said = json.loads(statement["text"])
        return said if said["kind"] == f"dosebook-group-{kind}-1" else None

    monkeypatch.setattr(words, "read", believed)
    assert altered_arrives(whole)


def test_a_group_of_before_rolls_nothing_out_and_keeps_nobody_from_replicating(whole):
    whole.roll_out()

    def older(wire, path, body, headers):
        if "/offer" in path:
            return 404, b'{"code": "not_found", "detail": "There is no such address."}'
        return wire.carry(path, body, headers)

    whole.two.wire.spoil = older
    assert whole.two.once()["offered"] == 0
    assert whole.two.same()


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"source_id": "nowhere"}, "list_unknown"),
        ({"kind": "preset", "effective_from": "2030-01-01"}, "day_of_list"),
        ({"effective_from": "soon"}, "invalid"),
        ({"practices": []}, "invalid"),
    ],
)
def test_what_cannot_be_rolled_out_is_refused(whole, change, code):
    with pytest.raises(DomainError) as refused:
        whole.roll_out(**{"kind": "list", "source_id": "time-out-1", **change})
    assert refused.value.code == code


def test_only_who_is_in_charge_of_both_rolls_out(two):
    with pytest.raises(DomainError) as refused:
        two.practice.desk("clinician").ask(
            "POST",
            "/rollouts",
            {"kind": "list", "source_id": "x", "practices": None},
            **{"Idempotency-Key": "a-key-of-mine"},
        )
    assert refused.value.facts["status"] == 403
