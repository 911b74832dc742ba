"""Somebody of one location registered at another: by an administrator of both, and nobody else."""

import pytest

from api.demo.tablet_client import Refused
from api.storage import access, readers
from api.storage.engine import read
from tests.web.practice import Practice

pytestmark = pytest.mark.both_databases(long=True)

SAID = {"display_name": "Test clinician", "initials": "TC", "roles": ["assistant"]}
LICENCE = {"kind": "licence", "text": "Dentist 4711", "expires_on": "2099-01-01"}


def refused(ask, *arguments, **more):
    with pytest.raises(Refused) as problem:
        ask(*arguments, **more)
    return problem.value.code, problem.value.facts["status"]


@pytest.fixture
def three(app, clock):
    """North and South, with one administrator of both, and West, which is not theirs."""
    north = Practice(app, clock, roles=("clinician", "administrator", "front_desk"))
    south = Practice(app, clock, name="South room", roles=("administrator", "manager"))
    west = Practice(app, clock, name="West room", roles=("clinician", "administrator"))
    keeper = north.people["administrator"]
    south.register(keeper, {"display_name": "Keeper", "initials": "K"}, ["administrator"])
    return north, south, west


@pytest.fixture
def keeper(three):
    """The desk of the administrator of both, at South."""
    north, south, _ = three
    desk = north.desk("administrator")
    officer = north.people["clinician"]
    desk.command("credential.noted", officer, {"credential_id": "c-1", **LICENCE})
    desk.command(
        "credential.noted",
        officer,
        {"credential_id": "c-2", "kind": "device_training", "text": "L", "device_id": None},
    )
    desk.ask("POST", "/session/location", {"location_id": south.location_id})
    return desk


def join(desk, person_id, key="somebody-joins", **more):
    return desk.ask(
        "POST", f"/people-elsewhere/{person_id}", {**SAID, **more}, **{"Idempotency-Key": key}
    )


def names(desk):
    return {one["display_name"] for one in desk.ask("GET", "/people-elsewhere")["people"]}


def test_it_is_the_same_person_with_roles_of_this_place_and_their_credentials(three, keeper):
    north, south, _ = three
    person_id = north.people["clinician"]
    [found] = [
        one
        for one in keeper.ask("GET", "/people-elsewhere")["people"]
        if one["person_id"] == person_id
    ]
    assert found["locations"] == [
        {"location_id": north.location_id, "name": north.name, "roles": ["clinician"]}
    ]
    assert found["credentials"] == 2
    for _ in range(2):
        # The same key joins once.
        assert join(keeper, person_id, with_credentials=True) == {"person_id": person_id}
    [here] = [
        one
        for one in keeper.ask("GET", "/house?kind=person")["documents"]
        if one["person_id"] == person_id
    ]
    assert here["roles"] == ["assistant"]
    assert [one["text"] for one in here["credentials"]] == ["Dentist 4711", "L"]
    with read(north.house.engine) as connection:
        there = readers.entity_entries(connection, north.location_id, person_id)
        said = access.entries(connection, south.location_id, subject_id=person_id)
    assert [one["body"]["type"] for one in there] == [
        "person.registered",
        "credential.noted",
        "credential.noted",
    ]
    assert {(one["action"], one["actor_id"]) for one in said} == {
        ("change", north.people["administrator"])
    }
    assert found["display_name"] not in names(keeper)
    assert refused(join, keeper, person_id, "once-more") == ("works_here", 409)
    # One sign-in, and at each place what one is there.
    desk = north.desk("clinician")
    desk.ask("POST", "/session/location", {"location_id": south.location_id})
    session = desk.ask("GET", "/session")
    assert session["roles"] == ["assistant"]
    assert {one["name"]: one["roles"] for one in session["locations"]} == {
        north.name: ["clinician"],
        south.name: ["assistant"],
    }


def test_nobody_is_found_of_a_location_that_is_not_one_s_own(three, keeper):
    north, south, west = three
    assert names(keeper) == {"Test clinician", "Test front_desk"}
    assert {one["person_id"] for one in keeper.ask("GET", "/people-elsewhere")["people"]} == {
        north.people["clinician"],
        north.people["front_desk"],
    }
    foreign = refused(join, keeper, west.people["clinician"])
    assert foreign == refused(join, keeper, "nobody") == ("person_unknown", 404)
    # An administrator of one location only, and a manager of both, find nobody.
    assert names(south.desk("administrator")) == set()
    assert refused(join, south.desk("administrator"), north.people["clinician"])[1] == 404
    manager = south.desk("manager")
    assert refused(manager.ask, "GET", "/people-elsewhere") == ("not_allowed", 403)
    assert refused(join, manager, north.people["clinician"]) == ("not_allowed", 403)


def test_what_is_wrong_is_said_at_its_field_and_nothing_is_done(three, keeper):
    person_id = three[0].people["clinician"]
    for number, (more, field) in enumerate(
        (
            ({"roles": []}, "payload.roles"),
            ({"roles": ["captain"]}, "payload.roles"),
            ({"roles": ["auditor"]}, "payload.auditor_until"),
            ({"display_name": ""}, "display_name"),
        )
    ):
        with pytest.raises(Refused) as problem:
            join(keeper, person_id, f"refused-{number}", with_credentials=True, **more)
        assert list(problem.value.facts["problem"]["errors"]) == [field], more
    known = keeper.ask("GET", "/house?kind=person")["documents"]
    assert person_id not in {one["person_id"] for one in known}
