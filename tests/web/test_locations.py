"""Opening a location from a desk: its own log, its first administrator, a name of its own."""

import pytest

from api.audit import verify
from api.demo.tablet_client import Refused
from api.storage import access, readers
from api.storage.engine import read
from tests.web.practice import Practice

pytestmark = pytest.mark.both_databases(long=True)

PIER = {"name": "Pier room", "zone": "Atlantic/Azores"}


def refused(ask, *arguments, **more):
    with pytest.raises(Refused) as problem:
        ask(*arguments, **more)
    return problem.value.code, problem.value.facts["status"]


@pytest.fixture
def north(app, clock):
    return Practice(app, clock, roles=("administrator", "manager"))


def opened(desk, key="a-new-location", **more):
    return desk.ask("POST", "/locations", {**PIER, **more}, **{"Idempotency-Key": key})


def test_an_administrator_opens_one_and_is_its_first_administrator(north):
    desk, person_id = north.desk("administrator"), north.people["administrator"]
    made = opened(desk)
    assert (made["name"], made["zone"]) == (PIER["name"], PIER["zone"])
    assert made["location_id"] != north.location_id
    # The same key opens one location.
    assert opened(desk) == made
    assert refused(opened, desk, name="Another") == ("idempotency_key_reused", 409)
    assert [one["name"] for one in desk.ask("GET", "/locations")["locations"]] == [
        north.name,
        PIER["name"],
    ]
    desk.ask("POST", "/session/location", {"location_id": made["location_id"]})
    session = desk.ask("GET", "/session")
    assert (session["roles"], session["location"]["practice_name"]) == (
        ["administrator"],
        "Lantern Dental",
    )
    # What belongs to the first location is not in the new one: one person, no records, no lasers.
    assert [one["person_id"] for one in desk.ask("GET", "/house?kind=person")["documents"]] == [
        person_id
    ]
    assert desk.ask("GET", "/house?kind=device")["documents"] == []
    with read(north.house.engine) as connection:
        log = readers.entries_after(connection, made["location_id"], 0, limit=10)
        said = access.entries(connection, north.location_id)
    assert [(one["body"]["type"], one["body"]["actor_id"]) for one in log] == [
        ("location.opened", person_id),
        ("person.registered", person_id),
    ]
    assert log[0]["payload"] == {**PIER, "practice_name": "Lantern Dental", "rooms": []}
    assert ("create", made["location_id"]) in {(one["action"], one["subject_id"]) for one in said}


def test_its_log_is_a_chain_of_its_own(north):
    made = opened(north.desk("administrator"))
    found = verify.verify_log(north.house.engine)
    assert found["ok"]
    logs = {one["location_id"]: one for one in found["locations"]}
    # What is said there leaves the first location's log as long as it was: itself and two people.
    assert {one: log["entries"] for one, log in logs.items()} == {
        north.location_id: 3,
        made["location_id"]: 2,
    }
    assert len({log["epoch"] for log in logs.values()}) == 2


def test_what_cannot_be_is_said_at_its_field(north):
    desk = north.desk("administrator")
    for number, (more, field, code) in enumerate(
        (
            ({"name": "  north ROOM "}, "name", "name_taken"),
            ({"name": "Nórth room"}, "name", "name_taken"),
            ({"name": " "}, "name", "name_missing"),
            ({"zone": "Atlantic/Atlantis"}, "zone", "zone_unknown"),
            ({"zone": "../etc/passwd"}, "zone", "zone_unknown"),
        )
    ):
        with pytest.raises(Refused) as problem:
            opened(desk, f"refused-{number}", **more)
        assert (problem.value.code, problem.value.facts["status"]) == (code, 422), more
        assert list(problem.value.facts["problem"]["errors"]) == [field], more
    assert len(desk.ask("GET", "/locations")["locations"]) == 1


def test_one_sees_those_whose_administrator_one_is_and_only_an_administrator_opens_any(
    app, clock, north
):
    Practice(app, clock, name="South room", roles=("administrator",))
    found = north.desk("administrator").ask("GET", "/locations")["locations"]
    assert [one["location_id"] for one in found] == [north.location_id]
    manager = north.desk("manager")
    assert refused(opened, manager) == ("not_allowed", 403)
    assert refused(manager.ask, "GET", "/locations") == ("not_allowed", 403)
    payload = {**PIER, "practice_name": "Lantern Dental", "rooms": []}
    by_hand = refused(north.desk("administrator").command, "location.opened", "by-hand", payload)
    assert by_hand[1] == 403


def test_a_page_made_for_another_location_is_told_so_and_does_nothing(north):
    desk = north.desk("administrator")
    made = opened(desk)
    here = {"Dosebook-Location": north.location_id}
    desk.ask("GET", "/house?kind=person", **here)
    desk.ask("POST", "/session/location", {"location_id": made["location_id"]}, **here)
    # In the other tab the page still shows the first location.
    said = {"label": "Nobody's laser"}
    stale = refused(
        desk.ask,
        "POST",
        "/commands/device.registered",
        {"entity_id": "laser-9", "payload": said},
        **here,
        **{"Idempotency-Key": "a-stale-page"},
    )
    assert stale == ("location_changed", 409)
    assert desk.ask("GET", "/house?kind=device")["documents"] == []
