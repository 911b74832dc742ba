"""Who is signed in where, and ending it: one's own, or a whole location's."""

import pytest

from api.errors import NotFound, NotSignedIn
from api.people import service, sessions
from api.storage import access
from api.storage.engine import read, write
from tests.people.conftest import LOCATION, PERSON, TABLET

pytestmark = pytest.mark.both_databases(long=True)


def listed(house, here=None, person_id=PERSON):
    with read(house.engine) as connection:
        return sessions.of_person(connection, LOCATION, person_id, here=here, now=house.clock.now())


def end(house, session_id, *, person_id=PERSON, location_id=LOCATION):
    with write(house.engine) as connection:
        sessions.end(
            connection,
            location_id=location_id,
            session_id=session_id,
            person_id=person_id,
            actor_id=PERSON,
            now=house.clock.now(),
        )


def test_desk_and_tablet_are_listed_with_the_one_in_use(house):
    house.pin()
    house.clock.advance(5)
    desk = house.password()["token"]
    first, second = listed(house, here=desk)
    assert (first["kind"], first["here"]) == ("desk", True)
    assert (second["kind"], second["here"]) == ("tablet", False)
    assert not any(desk in str(one) for one in (first, second))


def test_what_is_over_is_not_listed(house):
    house.password()
    house.pin()
    house.clock.advance(30 * 60)
    assert [one["kind"] for one in listed(house)] == ["tablet"]
    house.clock.advance(12 * 3600)
    assert listed(house) == []


def test_an_ended_session_opens_nothing_and_the_others_go_on(house):
    tablet, desk = house.pin()["person_token"], house.password()["token"]
    [ended] = [one for one in listed(house) if one["kind"] == "tablet"]
    end(house, ended["session_id"])
    now = house.clock.now()
    with read(house.engine) as connection:
        with pytest.raises(NotSignedIn):
            service.person_on_tablet(connection, tablet, tablet_id=TABLET, now=now)
        service.desk_session(connection, desk, now=now)
        [note, *_] = access.entries(connection, LOCATION, subject_id=PERSON)
    assert note["action"] == "end_session"
    with pytest.raises(NotFound):
        end(house, ended["session_id"])


def test_nobody_ends_another_s_or_another_place_s_session(house):
    house.password()
    [mine] = listed(house)
    for other in ({"person_id": "person-2"}, {"location_id": "loc-2", "person_id": None}):
        with pytest.raises(NotFound):
            end(house, mine["session_id"], **other)
    assert listed(house) == [mine]
    end(house, mine["session_id"], person_id=None)
    assert listed(house) == []


def test_all_others_end_at_once(house):
    for _ in range(3):
        house.password()
    here = house.password()["token"]
    with write(house.engine) as connection:
        ended = sessions.end_others(
            connection,
            location_id=LOCATION,
            person_id=PERSON,
            here=here,
            now=house.clock.now(),
        )
    assert ended == 3
    assert [one["here"] for one in listed(house, here=here)] == [True]
