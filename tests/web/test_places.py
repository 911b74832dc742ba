"""One person at two locations: what they are here says nothing about what they are there."""

import pytest

from api.app import PROJECTORS
from api.demo.tablet_client import Refused
from api.storage import access
from api.storage.engine import read
from api.sync import desk as desk_writer
from tests.web.practice import ZONE, Practice

pytestmark = pytest.mark.both_databases(long=True)


def refused(ask, *arguments):
    with pytest.raises(Refused) as problem:
        ask(*arguments)
    return problem.value.code, problem.value.facts["status"]


@pytest.fixture
def places(app, clock):
    """North, whose front desk is a clinician at South, and South."""
    north = Practice(app, clock, roles=("front_desk", "administrator"))
    south = Practice(app, clock, name="South room", roles=("clinician", "administrator"))
    desk_writer.append_as_desk(
        south.house.engine,
        clock,
        south.house.server_key,
        location_id=south.location_id,
        actor_id=south.people["administrator"],
        type="person.registered",
        entity_id=north.people["front_desk"],
        payload={"display_name": "Test both", "initials": "TB", "roles": ["clinician"]},
        idempotency_key="both places",
        projectors=PROJECTORS,
        zone=ZONE,
    )
    return north, south


def go(desk, location_id):
    return desk.ask("POST", "/session/location", {"location_id": location_id})


def test_one_goes_to_and_fro_and_is_there_what_one_is_there(places):
    north, south = places
    tablet = south.tablet("clinician")
    record_id = south.signed_record(tablet)
    tablet.push()
    desk = north.desk("front_desk")
    found = desk.ask("GET", "/session/locations")
    assert found["here"] == north.location_id
    assert {one["location_id"]: one["roles"] for one in found["locations"]} == {
        north.location_id: ["front_desk"],
        south.location_id: ["clinician"],
    }
    # Nothing of the other location answers before, and nothing of the first one after.
    assert refused(desk.ask, "GET", f"/records/{record_id}") == ("record_unknown", 404)
    until = desk.ask("GET", "/session")["expires_at"]
    assert go(desk, south.location_id)["here"] == south.location_id
    session = desk.ask("GET", "/session")
    assert (session["roles"], session["expires_at"]) == (["clinician"], until)
    assert desk.ask("GET", f"/records/{record_id}")["record_id"] == record_id
    go(desk, north.location_id)
    assert refused(desk.ask, "GET", f"/records/{record_id}") == ("record_unknown", 404)
    with read(north.house.engine) as connection:
        actions = [one["action"] for one in access.entries(connection, north.location_id)]
    assert [one for one in actions if "location" in one] == ["enter_location", "leave_location"]


def test_where_one_does_not_work_and_what_is_not_there_answer_alike(places):
    north, south = places
    desk = north.desk("administrator")
    assert [one["location_id"] for one in desk.ask("GET", "/session/locations")["locations"]] == [
        north.location_id
    ]
    foreign, absent = refused(go, desk, south.location_id), refused(go, desk, "nowhere")
    assert foreign == absent == ("location_unknown", 404)
    desk.ask("GET", "/session")


def test_work_that_ended_there_leaves_the_work_here(places):
    north, south = places
    desk = north.desk("front_desk")
    south.desk("administrator").command("person.left", north.people["front_desk"], {})
    assert refused(go, desk, south.location_id) == ("location_unknown", 404)
    assert desk.ask("GET", "/session")["roles"] == ["front_desk"]
