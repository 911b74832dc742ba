"""An emergency at a location where one has no role: with a reason, for an hour, reading only.

That there is such a way follows 45 CFR 164.312(a)(2)(ii), from memory; the hour, and that nothing
but reading is open, are this project's own choice.
"""

from types import SimpleNamespace

import pytest

from api.demo.tablet_client import Refused
from api.storage import access
from api.storage.engine import read
from tests.web.practice import Practice

pytestmark = pytest.mark.both_databases(long=True)

WHY = "Her dentist at South is not to be reached, and she bleeds here"


def refused(ask, *arguments, **more):
    with pytest.raises(Refused) as problem:
        ask(*arguments, **more)
    return problem.value.code, problem.value.facts["status"]


@pytest.fixture
def two(app, clock):
    """North, whose clinician has no role at South, and South with a record."""
    north = Practice(app, clock, roles=("clinician", "administrator", "auditor"))
    south = Practice(
        app, clock, name="South room", roles=("clinician", "manager", "auditor", "administrator")
    )
    tablet = south.tablet("clinician")
    record_id = south.signed_record(tablet)
    tablet.push()
    return north, south, record_id


def elsewhere(desk, practice, key="there-and-back", reason=WHY):
    body = {"location_id": practice.location_id, "reason": reason}
    return desk.ask("POST", "/emergencies/elsewhere", body, **{"Idempotency-Key": key})


def accesses(practice):
    with read(practice.house.engine) as connection:
        found = access.entries(connection, practice.location_id)
    return [(one["action"], one["actor_id"]) for one in found]


def test_it_opens_the_records_there_and_nothing_else_and_all_of_it_is_written_down(two):
    north, south, record_id = two
    desk, who = north.desk("clinician"), north.people["clinician"]
    assert refused(desk.ask, "GET", f"/records/{record_id}") == ("record_unknown", 404)
    offered = desk.ask("GET", "/emergencies/locations")["locations"]
    assert offered == [{"location_id": south.location_id, "name": south.name}]
    opened = elsewhere(desk, south)
    session = desk.ask("GET", "/session")
    assert (session["roles"], session["rights"]) == ([], ["record.read"])
    assert session["location"]["location_id"] == south.location_id
    assert [one["location_id"] for one in session["locations"]] == [north.location_id]
    assert desk.ask("GET", f"/records/{record_id}")["record_id"] == record_id
    for path in ("/house?kind=person", "/presets/export?format=json", "/tablets"):
        assert refused(desk.ask, "GET", path) == ("not_allowed", 403)
    note = {"text": "From North"}
    assert refused(desk.command, "procedure.noted", record_id, note) == ("not_allowed", 403)
    assert refused(elsewhere, desk, north)[1] == 403
    # Those who answer for South are told who it is and why, and the log of accesses names them.
    manager = south.desk("manager")
    [alarm] = manager.ask("GET", "/house?kind=emergency")["documents"]
    assert (alarm["person_id"], alarm["display_name"], alarm["reason"]) == (
        who,
        "Test clinician",
        WHY,
    )
    assert (alarm["works_at"], alarm["until"]) == (north.name, opened["until"])
    manager.command("emergency.acknowledged", alarm["emergency_id"], {})
    assert ("leave_location", who) in accesses(north)
    assert {("enter_location", who), ("emergency", who), ("read", who), ("refused", who)} <= set(
        accesses(south)
    )
    found = south.desk("auditor").ask("POST", "/access-log/search", {"person_id": who})["entries"]
    assert {one["actor_name"] for one in found} == {"Test clinician"}
    # Back where one works; a sign-in never begins where one has no role.
    desk.ask("POST", "/session/location", {"location_id": north.location_id})
    assert refused(desk.ask, "GET", f"/records/{record_id}") == ("record_unknown", 404)
    session = north.desk("clinician").ask("GET", "/session")
    assert session["location"]["location_id"] == north.location_id


def test_an_administrator_there_sees_whose_session_it_is(two, clock):
    north, south, _ = two
    desk = north.desk("clinician")
    elsewhere(desk, south)
    administrator = south.desk("administrator")

    def called():
        found = administrator.ask("GET", "/location/sessions")["sessions"]
        return {one["person_id"]: (one["person_name"], one["works_at"]) for one in found}

    assert called() == {
        north.people["clinician"]: ("Test clinician", north.name),
        south.people["administrator"]: ("Test administrator", None),
        south.people["clinician"]: ("Test clinician", None),
    }
    # Where they work, no session of theirs is left to be called anything.
    at_home = north.desk("administrator").ask("GET", "/location/sessions")["sessions"]
    assert [one["person_name"] for one in at_home] == ["Test administrator"]


def test_it_ends_by_itself(two, clock):
    north, south, record_id = two
    desk = north.desk("clinician")
    elsewhere(desk, south)
    for _ in range(3):
        # So that the session does not end for lack of use.
        clock.advance(19 * 60)
        desk.ask("GET", f"/records/{record_id}")
    clock.advance(2 * 60)
    desk.ask("GET", f"/records/{record_id}")
    clock.advance(60)
    assert refused(desk.ask, "GET", f"/records/{record_id}") == ("not_signed_in", 401)
    assert refused(desk.ask, "GET", "/session") == ("not_signed_in", 401)


def test_it_ends_with_the_work_of_whoever_opened_it(two):
    north, south, record_id = two
    desk = north.desk("clinician")
    elsewhere(desk, south)
    north.desk("administrator").command("person.left", north.people["clinician"], {})
    assert refused(desk.ask, "GET", f"/records/{record_id}") == ("not_signed_in", 401)


def test_who_may_not_and_where_it_is_not_needed(two):
    north, south, _ = two
    desk = north.desk("clinician")
    assert refused(elsewhere, desk, SimpleNamespace(location_id="nowhere")) == (
        "location_unknown",
        404,
    )
    assert refused(elsewhere, desk, north) == ("works_there", 409)
    assert refused(elsewhere, desk, south, reason="")[1] == 422
    # Somebody from outside who reads here for a time has no business there.
    auditor = north.desk("auditor")
    assert refused(elsewhere, auditor, south) == ("not_allowed", 403)
    assert refused(auditor.ask, "GET", "/emergencies/locations") == ("not_allowed", 403)
    with read(south.house.engine) as connection:
        found = access.entries(connection, south.location_id)
    assert not {one["actor_id"] for one in found} & set(north.people.values())
