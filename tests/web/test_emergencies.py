"""Access in an emergency: with a reason, for an hour, seen and written down.

That there is such a way follows 45 CFR 164.312(a)(2)(ii), from memory; the hour is this project's
own choice.
"""

import pytest

from api.demo.tablet_client import Refused
from api.storage import access
from api.storage.engine import read
from tests.web.practice import Practice

pytestmark = pytest.mark.both_databases(long=True)

WHY = "The dentist is not to be reached, and the patient bleeds"


@pytest.fixture
def house(app, clock):
    return Practice(
        app, clock, roles=("clinician", "administrator", "manager", "safety_officer", "front_desk")
    )


@pytest.fixture
def record_id(house):
    tablet = house.tablet("clinician")
    made = house.signed_record(tablet)
    tablet.push()
    return made


def refused(ask, *arguments, **more):
    with pytest.raises(Refused) as problem:
        ask(*arguments, **more)
    return problem.value.code, problem.value.facts["status"]


def opened(desk, key="emergency-1", **more):
    return desk.ask("POST", "/emergencies", {"reason": WHY, **more}, **{"Idempotency-Key": key})


def accesses(house, action):
    with read(house.house.engine) as connection:
        found = access.entries(connection, house.location_id)
    return [one for one in found if one["action"] == action]


def test_it_opens_for_an_hour_and_every_look_is_written_down(house, clock, record_id):
    desk = house.desk("administrator")
    assert refused(desk.ask, "GET", f"/records/{record_id}") == ("not_allowed", 403)
    until = opened(desk)["until"]
    assert desk.ask("GET", "/session")["emergency"] == {"rights": ["record.read"], "until": until}
    assert desk.ask("GET", f"/records/{record_id}")["record_id"] == record_id
    for _ in range(3):
        # So that the session does not end for lack of use.
        clock.advance(19 * 60)
        desk.ask("GET", "/session")
    clock.advance(2 * 60)
    desk.ask("GET", f"/records/{record_id}")
    clock.advance(2 * 60)
    assert refused(desk.ask, "GET", f"/records/{record_id}") == ("not_allowed", 403)
    assert desk.ask("GET", "/session")["emergency"] is None
    uses = accesses(house, "emergency")
    assert {one["actor_id"] for one in uses} == {house.people["administrator"]}
    assert {one["detail"]["right"] for one in uses} == {"record.read"}
    # What is said of a patient stays out of the log of accesses.
    assert WHY not in str(uses)


def test_it_is_told_until_somebody_has_seen_it(house):
    opened(house.desk("front_desk"), write=True)
    officer = house.desk("safety_officer")
    [alarm] = officer.ask("GET", "/house?kind=emergency")["documents"]
    assert (alarm["person_id"], alarm["reason"]) == (house.people["front_desk"], WHY)
    assert alarm["acknowledged"] == []
    officer.command("emergency.acknowledged", alarm["emergency_id"], {})
    [alarm] = officer.ask("GET", "/house?kind=emergency")["documents"]
    assert [one["by"] for one in alarm["acknowledged"]] == [house.people["safety_officer"]]
    assert refused(
        house.desk("clinician").command, "emergency.acknowledged", alarm["emergency_id"], {}
    ) == ("not_allowed", 403)


def test_reading_is_not_recording(house, record_id):
    desk, note = house.desk("administrator"), {"text": "Seen at the desk"}
    opened(desk)
    assert refused(desk.command, "procedure.noted", record_id, note) == ("not_allowed", 403)
    opened(desk, "emergency-2", write=True)
    desk.command("procedure.noted", record_id, note)
    # Recording is not voiding.
    voiding = {"reason": "Not this patient's"}
    assert refused(desk.command, "record.voided", record_id, voiding) == ("not_allowed", 403)


def test_who_may_already_needs_none_and_asking_twice_opens_once(house, clock):
    assert refused(opened, house.desk("clinician"), write=True) == ("emergency_needless", 409)
    desk = house.desk("administrator")
    first = opened(desk)
    clock.advance(60)
    assert opened(desk, "emergency-2") == first


def test_it_needs_a_reason_and_cannot_be_written_by_hand(house):
    desk = house.desk("administrator")
    assert refused(opened, desk, reason="")[1] == 422
    payload = {
        "person_id": house.people["administrator"],
        "rights": ["record.sign"],
        "reason": WHY,
        "until": "2099-01-01T00:00:00.000+00:00",
    }
    assert refused(desk.command, "emergency.opened", "mine", payload)[1] == 403


def test_it_opens_one_location_and_no_other(app, clock, house, record_id):
    other = Practice(app, clock, name="South room", roles=("administrator",))
    desk = other.desk("administrator")
    opened(desk)
    foreign = refused(desk.ask, "GET", f"/records/{record_id}")
    assert foreign == refused(desk.ask, "GET", "/records/nothing") == ("record_unknown", 404)
