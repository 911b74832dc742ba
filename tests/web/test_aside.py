"""What was put aside: looked into, released or rejected by whoever may, and what follows."""

import pytest

from api.demo.tablet_client import Refused
from api.storage import access, jobs, readers
from api.storage.engine import read, write
from api.sync import rebuild
from tests.web.equipment import DEVICE, preset
from tests.web.practice import Practice

pytestmark = pytest.mark.both_databases(long=True)

WHY = "The tablet lay in the car of the dentist; these are hers"


@pytest.fixture
def lost(practice):
    """A revoked tablet that has handed in a record of five entries: (practice, record's id)."""
    tablet = practice.tablet("clinician")
    record_id = practice.signed_record(tablet, chart_number="C-1002")
    administrator = practice.desk("administrator")
    administrator.ask(
        "POST", f"/tablets/{tablet.identity['tablet_id']}/revoke", {"reason": "Left on a train"}
    )
    assert [one["reason"] for one in tablet.push()] == ["tablet_revoked"] * 5
    return practice, record_id


def refused(ask, *arguments, **named) -> Refused:
    with pytest.raises(Refused) as raised:
        ask(*arguments, **named)
    return raised.value


def waiting(desk, **query) -> list[dict]:
    asked = "&".join(f"{name}={value}" for name, value in query.items())
    return desk.ask("GET", f"/aside?{asked}")["entries"]


def settle(desk, entries, decision="release", reason=WHY):
    positions = [one["position"] for one in entries]
    return desk.ask(
        "POST", "/aside", {"positions": positions, "decision": decision, "reason": reason}
    )["settled"]


def document(practice, kind, doc_id):
    with read(practice.house.engine) as connection:
        rows = connection.exec_driver_sql(
            f"SELECT body, position FROM document WHERE kind = '{kind}' AND doc_id = '{doc_id}'"
        ).all()
    return rows[0] if rows else None


def test_a_revoked_tablets_five_unsent_entries_end_as_five_released(lost):
    """People.md: lost tablet revoked with 5 unsent: 0 reads after, 5 in quarantine."""
    practice, record_id = lost
    dentist = practice.desk("clinician")
    put_aside = waiting(dentist)
    assert [one["type"] for one in put_aside] == [
        "record.signed",
        "procedure.ended",
        "laser.emitted",
        "pass.started",
        "procedure.opened",
    ]
    assert {one["patient"]["chart_number"] for one in put_aside} == {"C-1002"}
    assert {one["obstacle"] for one in put_aside} == {None}
    assert dentist.ask("GET", "/records")["records"] == []

    done = settle(dentist, put_aside)
    assert len({one["event_id"] for one in done}) == 5

    [row] = dentist.ask("GET", "/records")["records"]
    assert (row["chart_number"], row["status"], row["passes"]) == ("C-1002", "signed", 1)
    record = dentist.ask("GET", f"/records/{record_id}")
    # The signature covers the entries that were released, so nothing stands against it.
    assert "content_hash_differs" not in row["flags"]
    assert len(record["history"]) == 5
    with read(practice.house.engine) as connection:
        kinds = {one["kind"] for one in jobs.of_record(connection, practice.location_id, record_id)}
        entries = access.entries(connection, practice.location_id, subject_id=record_id)
        stored = readers.quarantined(connection, practice.location_id)
    assert kinds == {"render_pdf", "render_text"}
    changed = [one for one in entries if one["action"] == "change"]
    assert len(changed) == 5
    assert {one["detail"]["by"] for one in changed} == {practice.people["clinician"]}
    # The verdict stands as it was decided, and who decided otherwise is known for good.
    assert [one["verdict"] for one in stored] == ["quarantined"] * 5
    assert waiting(dentist) == []
    shown = waiting(dentist, state="decided")
    assert {one["decided"]["status"] for one in shown} == {"released"}
    assert {one["decided"]["reason"] for one in shown} == {WHY}
    assert {one["decided"]["by"] for one in shown} == {practice.people["clinician"]}


def test_what_was_released_comes_out_the_same_when_everything_is_made_anew(lost):
    practice, record_id = lost
    dentist = practice.desk("clinician")
    settle(dentist, waiting(dentist))
    before = document(practice, "record", record_id)
    with write(practice.house.engine) as connection:
        rebuild.rebuild(connection, projectors=practice.house.projectors)
    assert document(practice, "record", record_id) == before


def test_the_order_of_releasing_makes_no_difference(app, clock):
    """Same events, any order of arrival: same record (sync.md, Conflicts)."""
    found = []
    for name, order in (("North room", 1), ("South room", -1)):
        practice = Practice(app, clock, name=name, roles=("clinician", "administrator"))
        tablet = practice.tablet("clinician")
        record_id = practice.signed_record(tablet)
        practice.desk("administrator").ask(
            "POST", f"/tablets/{tablet.identity['tablet_id']}/revoke", {"reason": "Lost"}
        )
        tablet.push()
        dentist = practice.desk("clinician")
        for one in waiting(dentist)[::order]:
            settle(dentist, [one])
        record = dentist.ask("GET", f"/records/{record_id}")
        found.append(
            [
                record["status"],
                [one["dose"] for one in record["passes"]],
                [(one["type"], one["effective"]) for one in record["history"]],
                [one["code"] for one in record["flags"]],
            ]
        )
    assert found[0] == found[1]
    assert found[0][0] == "signed"


def test_a_rejected_entry_stays_in_sight_and_changes_nothing(lost):
    practice, _ = lost
    administrator = practice.desk("administrator")
    settle(administrator, waiting(administrator), "reject", "Made by whoever found the tablet")
    assert waiting(administrator) == []
    shown = waiting(administrator, state="decided")
    assert [one["decided"]["status"] for one in shown] == ["rejected"] * 5
    assert practice.desk("front_desk").ask("GET", "/records")["records"] == []
    # Somebody who knows better may still let it count; what counts is not rejected any more.
    dentist = practice.desk("clinician")
    settle(dentist, shown)
    assert len(dentist.ask("GET", "/records")["records"]) == 1
    problem = refused(settle, administrator, shown, "reject")
    assert (problem.code, problem.facts["status"]) == ("aside_settled", 409)


def test_pressed_twice_it_is_decided_once(lost):
    practice, _ = lost
    dentist = practice.desk("clinician")
    entries = waiting(dentist)
    assert settle(dentist, entries) == settle(dentist, entries)
    # Another person hears that somebody was faster.
    assert refused(settle, practice.desk("administrator"), entries).code == "aside_settled"


def test_an_administrator_sees_no_patient_and_may_decide(lost):
    practice, record_id = lost
    administrator = practice.desk("administrator")
    entries = waiting(administrator)
    assert {one["entity_id"] for one in entries} == {record_id}
    assert {(one["patient"], one["said"]) for one in map(_hashable, entries)} == {(None, None)}
    assert "C-1002" not in str(entries)
    assert all(one["may_settle"] for one in entries)
    settle(administrator, entries)
    assert len(practice.desk("front_desk").ask("GET", "/records")["records"]) == 1


def _hashable(one):
    return {name: one[name] for name in ("patient", "said")}


def test_who_may_not_decide_is_told_so_and_nothing_happens(lost):
    practice, _ = lost
    front_desk = practice.desk("front_desk")
    assert refused(front_desk.ask, "GET", "/aside").code == "not_allowed"
    assert refused(settle, front_desk, [{"position": 1}]).code == "not_allowed"
    dentist = practice.desk("clinician")
    assert refused(settle, dentist, [{"position": 1}]).code == "aside_unknown"
    assert refused(settle, dentist, waiting(dentist), reason="  ").code == "reason_missing"
    assert len(waiting(dentist)) == 5


def test_another_locations_entries_are_as_absent_as_none(app, clock, lost):
    practice, _ = lost
    other = Practice(app, clock, name="South room", roles=("clinician",))
    dentist = other.desk("clinician")
    theirs = waiting(practice.desk("clinician"))
    assert waiting(dentist) == []
    foreign = refused(settle, dentist, theirs)
    absent = refused(settle, dentist, [{"position": 10**6}])
    assert foreign.facts == absent.facts


def test_a_tablet_hears_of_it_by_its_pull(practice):
    """Released or rejected: the tablet that sent it need not remind anybody any more."""
    tablet = practice.tablet("clinician")
    # A laser is registered by the administrator or the safety officer.
    tablet.record("device.registered", "laser-9", DEVICE)
    [result] = tablet.push()
    assert (result["outcome"], result["reason"]) == ("quarantined", "actor_not_allowed")
    administrator = practice.desk("administrator")
    [one] = waiting(administrator)
    assert (one["obstacle"], one["name"]) == ("actor_not_allowed", DEVICE["label"])
    problem = refused(settle, administrator, [one])
    assert (problem.code, problem.facts["problem"]["because"]) == (
        "aside_not_releasable",
        "actor_not_allowed",
    )
    settle(administrator, [one], "reject", "I have entered it myself")
    tablet.pull()
    told = tablet.documents["aside", result["event_id"]]
    assert (told["status"], told["by"]) == ("rejected", practice.people["administrator"])
    # The reason may name somebody, and lies in the clear on no tablet.
    assert "entered" not in str(told)


def test_what_was_recorded_at_the_chair_may_be_vouched_for_but_no_signature(practice, clock):
    """Nobody becomes a signer because somebody else releases their signature."""
    tablet = practice.tablet("clinician")
    record_id = practice.signed_record(tablet)
    administrator = practice.desk("administrator")
    clock.advance(1)
    administrator.command("person.left", practice.people["clinician"], {"reason": "Retired"})
    clock.advance(60)
    # By the clock all of it was made before; what comes after the last day is not.
    tablet.record("procedure.noted", record_id, {"text": "Calm"})
    tablet.record(
        "record.addended", record_id, {"text": "More", "reason": "Forgotten", "signer_id": "x"}
    )
    results = tablet.push()
    assert [one.get("reason") for one in results[:5]] == [None] * 5
    assert results[5]["reason"] == "actor_left"
    by_type = {one["type"]: one for one in waiting(administrator)}
    assert by_type["procedure.noted"]["obstacle"] is None
    assert by_type["record.addended"]["obstacle"] is not None
    settle(administrator, [by_type["procedure.noted"]])
    assert refused(settle, administrator, [by_type["record.addended"]]).code == (
        "aside_not_releasable"
    )


@pytest.fixture
def shut_out(practice):
    """A tablet whose entries are put aside from now on, because it was revoked."""
    tablet = practice.tablet("clinician")
    practice.desk("administrator").ask(
        "POST", f"/tablets/{tablet.identity['tablet_id']}/revoke", {"reason": "Lost"}
    )
    return tablet


def test_what_was_said_later_stays_in_force_when_an_earlier_entry_is_released(practice, shut_out):
    """It counts where it stands in the log, not where somebody released it."""
    shut_out.record("procedure_kind.listed", "kind-1", {"text": "Said first", "code": None})
    shut_out.record("procedure_kind.listed", "kind-2", {"text": "Nobody else's", "code": None})
    shut_out.push()
    practice.desk("clinician").command(
        "procedure_kind.listed", "kind-1", {"text": "Said later", "code": None}
    )
    administrator = practice.desk("administrator")
    settle(administrator, waiting(administrator))
    other = practice.tablet()
    other.pull()
    assert other.documents["procedure_kind", "kind-1"]["text"] == "Said later"
    assert other.documents["procedure_kind", "kind-2"]["text"] == "Nobody else's"


def test_a_released_version_that_came_second_waits_as_a_draft(practice, shut_out, equipped):
    """Sync.md, Conflicts: base version not current, then current stays and the other waits."""
    _, dentist = equipped
    shut_out.record("preset.published", "preset-1", preset(practice, name="A"))
    shut_out.push()
    dentist.command("preset.published", "preset-1", preset(practice, name="Desk"))
    administrator = practice.desk("administrator")
    settle(administrator, waiting(administrator))

    def presets():
        tablet = practice.tablet()
        tablet.pull()
        found = tablet.documents["preset", "preset-1"]
        return found["name"], [one["name"] for one in found["drafts"]]

    assert presets() == ("Desk", ["A"])
    with write(practice.house.engine) as connection:
        rebuild.rebuild(connection, projectors=practice.house.projectors)
    assert presets() == ("Desk", ["A"])


def test_of_several_one_that_cannot_be_released_keeps_all_back(practice):
    tablet = practice.tablet("clinician")
    tablet.record("device.registered", "laser-9", DEVICE)
    practice.signed_record(tablet)
    administrator = practice.desk("administrator")
    administrator.ask("POST", f"/tablets/{tablet.identity['tablet_id']}/revoke", {"reason": "Lost"})
    tablet.push()
    entries = waiting(administrator)
    assert len(entries) == 6
    assert refused(settle, administrator, entries).code == "aside_not_releasable"
    assert len(waiting(administrator)) == 6


def test_nobody_else_makes_such_an_event(lost):
    practice, _ = lost
    administrator = practice.desk("administrator")
    [one, *_] = waiting(administrator)
    payload = {"event_id": "x", "verdict": "applied", "reason": WHY}
    assert (
        refused(administrator.command, "aside.released", str(one["position"]), payload).code
        == "server_only"
    )
    tablet = practice.tablet("clinician")
    tablet.record("aside.released", "some-event", payload)
    assert tablet.push()[0]["reason"] == "server_only"
