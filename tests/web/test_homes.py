"""One password for every location where a person works, and who may have it set anew.

That a person has one identity and is let in by what they are at each place, and that nobody gains
rights elsewhere by looking after them here, is this project's own reading of least privilege (NIST
SP 800-53, AC-6, from memory).
"""

import pyotp
import pytest

from api.demo.desk_client import DeskClient
from api.demo.tablet_client import Refused, TabletClient
from api.demo.transport import from_test_client
from api.storage.engine import read, write
from api.storage.tables import secret
from tests.web.practice import ORIGIN, PASSWORD, PIN, Practice

pytestmark = pytest.mark.both_databases(long=True)

NEW = "quite another pass phrase"


def refused(ask, *arguments, **more):
    with pytest.raises(Refused) as problem:
        ask(*arguments, **more)
    return problem.value.code, problem.value.facts["status"]


@pytest.fixture
def both(app, clock):
    """North and South; North's clinician is an assistant at South, with a password from North."""
    north = Practice(app, clock, roles=("clinician", "administrator", "manager"))
    south = Practice(app, clock, name="South room", roles=("administrator", "manager"))
    joined(north, south, "clinician", ["assistant"])
    north.give_secrets("clinician")
    return north, south


def joined(north, south, role, roles):
    """Register North's person of a role at South, as the program itself."""
    south.register(north.people[role], {"display_name": "Test both", "initials": "TB"}, roles)


def desk_of(practice):
    return DeskClient(from_test_client(practice.app.test_client()), practice.clock, origin=ORIGIN)


def signed_in(practice, name, password=PASSWORD):
    desk = desk_of(practice)
    desk.sign_in(name, password)
    return desk


def where(desk):
    return desk.ask("GET", "/session")["location"]["location_id"]


def go(desk, practice):
    return desk.ask("POST", "/session/location", {"location_id": practice.location_id})


def link(desk, person_id, purpose="reset"):
    made = desk.ask("POST", f"/people/{person_id}/link", {"purpose": purpose})
    return made["path"].rpartition("/")[2]


def visit(practice, token):
    return desk_of(practice).ask("POST", "/links/open", {"token": token})


def use(practice, token, **given):
    return desk_of(practice).ask("POST", "/links/use", {"token": token, **given})


def test_a_sign_in_begins_where_one_was_last(both, clock):
    north, south = both
    name = north.sign_in_name("clinician")
    desk = signed_in(north, name)
    assert where(desk) == north.location_id
    clock.advance(60)
    go(desk, south)
    clock.advance(60)
    assert where(signed_in(north, name)) == south.location_id
    clock.advance(60)
    go(desk, north)
    assert where(signed_in(north, name)) == north.location_id


def test_one_sees_and_ends_one_s_sessions_at_all_locations(both):
    north, south = both
    name = north.sign_in_name("clinician")
    here, there = signed_in(north, name), signed_in(north, name)
    go(there, south)
    found = here.ask("GET", "/sessions")["sessions"]
    [away] = [one for one in found if "location_name" in one]
    assert (len(found), away["location_name"], away["here"]) == (2, south.name, False)
    # Whoever looks after South sees the one there, and nothing of the other.
    seen = south.desk("administrator").ask("GET", "/location/sessions")["sessions"]
    assert away["session_id"] in {one["session_id"] for one in seen}
    assert all("location_name" not in one for one in seen)
    assert refused(here.ask, "DELETE", "/sessions/nothing") == ("session_unknown", 404)
    here.ask("DELETE", f"/sessions/{away['session_id']}")
    assert refused(there.ask, "GET", "/session") == ("not_signed_in", 401)
    third = signed_in(north, name)
    go(third, south)
    here.ask("DELETE", "/sessions")
    assert refused(third.ask, "GET", "/session") == ("not_signed_in", 401)
    here.ask("GET", "/session")


def test_whose_work_ended_where_the_password_was_set_signs_in_where_they_still_work(both):
    north, south = both
    name, person_id = north.sign_in_name("clinician"), north.people["clinician"]
    desk = signed_in(north, name)
    begun = desk.ask("POST", "/me/totp", {"password_now": PASSWORD})
    app = pyotp.TOTP(begun["secret"])

    def code(later=0):
        north.clock.advance(later)
        return app.at(north.clock.now())

    codes = desk.ask(
        "POST",
        "/me/totp/confirm",
        {"factor_id": begun["factor_id"], "code": code(), "label": "phone"},
    )["recovery_codes"]
    north.desk("administrator").command("person.left", person_id, {})
    # The second factor has come along, and the recovery codes.
    for shown in ({"way": "totp", "code": code(60)}, {"way": "recovery", "code": codes[0]}):
        again = desk_of(north)
        step = again.ask("POST", "/session/password", {"sign_in": name, "password": PASSWORD})
        answer = again.ask("POST", "/session/factor", {"token": step["step"]["token"], **shown})
        assert answer["location_id"] == south.location_id
    south.desk("administrator").command("person.left", person_id, {})
    assert refused(signed_in, north, name) == ("sign_in_wrong", 401)
    with read(north.house.engine) as connection:
        kept = connection.execute(secret.select().where(secret.c.person_id == person_id)).all()
    assert [(row.sign_in, row.password_hash, row.pin_hash) for row in kept] == [
        (None, None, None)
    ] * 2


def test_one_changes_the_password_from_either_location_and_the_pin_of_where_one_is(both):
    north, south = both
    name, person_id = north.sign_in_name("clinician"), north.people["clinician"]
    elsewhere, desk = signed_in(north, name), signed_in(north, name)
    go(desk, south)
    me = desk.ask("GET", "/me")
    # What is set here for here: no PIN of North opens a tablet of South.
    assert (me["sign_in"], me["has_pin"], me["may_have_pin"]) == (name.casefold(), False, True)
    desk.ask("POST", "/me/pin", {"password_now": PASSWORD, "pin": "918273"})
    desk.ask("POST", "/me/password", {"password_now": PASSWORD, "password": NEW})
    assert refused(elsewhere.ask, "GET", "/session") == ("not_signed_in", 401)
    assert where(desk) == south.location_id
    assert refused(signed_in, north, name) == ("sign_in_wrong", 401)
    signed_in(north, name, NEW)
    for practice, pin in ((north, PIN), (south, "918273")):
        tablet = TabletClient(from_test_client(north.app.test_client()), north.clock, label="One")
        tablet.enrol(practice.code())
        tablet.sign_in(person_id, pin)


def test_who_looks_after_somebody_at_one_location_sets_only_their_pin_there(both):
    north, south = both
    name, person_id = north.sign_in_name("clinician"), north.people["clinician"]
    for desk, practice in ((north.desk("administrator"), north), (south.desk("manager"), south)):
        token = link(desk, person_id)
        seen = visit(practice, token)
        assert (seen["password"], seen["has_factor"]) == ("no", False)
        more = {"sign_in": name, "password": NEW}
        assert refused(use, practice, token, pin="918273", **more)[1] == 422
        for begin in ("totp", "passkey"):
            answer = refused(desk_of(practice).ask, "POST", f"/links/{begin}", {"token": token})
            assert answer[0] == "password_elsewhere"
        use(practice, token, pin="918273")
        # A second factor that is lost is no business of one location alone.
        assert refused(link, desk, person_id, "reset_all") == ("password_elsewhere", 403)
    signed_in(north, name)


def test_who_looks_after_somebody_at_all_of_them_has_the_password_set_anew(both):
    north, south = both
    name, person_id = north.sign_in_name("clinician"), north.people["clinician"]
    joined(north, south, "administrator", ["administrator"])
    desk = north.desk("administrator")
    go(desk, south)
    token = link(desk, person_id)
    assert visit(south, token)["password"] == "may"
    # Kept where it was: a second name would be a second person.
    use(south, token, sign_in=name, password=NEW, pin="918273")
    signed_in(north, name, NEW)
    # Whoever makes it must still be allowed to when it is used.
    go(desk, north)
    late = link(desk, person_id)
    assert visit(north, late)["password"] == "may"
    south.desk("administrator").command("person.left", north.people["administrator"], {})
    assert visit(north, late)["password"] == "no"


def test_nobody_is_registered_here_under_the_id_of_somebody_of_another_location(both):
    north, south = both
    payload = {"display_name": "Somebody", "initials": "S", "roles": ["administrator"]}
    desk = south.desk("administrator")
    stranger = north.people["administrator"]
    assert refused(desk.command, "person.registered", stranger, payload) == (
        "person_id_taken",
        409,
    )
    assert refused(link, desk, stranger) == ("person_unknown", 404)
    # Whoever is known at both is changed here by whoever looks after people here.
    desk.command("person.registered", north.people["clinician"], {**payload, "roles": ["manager"]})
    assert signed_in(north, north.sign_in_name("clinician")).ask("GET", "/session/locations")


def test_a_password_opens_the_pins_of_all_locations_again(both):
    north = both[0]
    person_id = north.people["clinician"]
    with write(north.house.engine) as connection:
        for practice in both:
            connection.exec_driver_sql(
                "INSERT INTO attempt (location_id, kind, subject, wrong)"
                f" VALUES ('{practice.location_id}', 'pin', '{person_id}', 10)"
            )
    signed_in(north, north.sign_in_name("clinician"))
    with read(north.house.engine) as connection:
        asked = f"SELECT sum(wrong) FROM attempt WHERE kind = 'pin' AND subject = '{person_id}'"
        assert connection.exec_driver_sql(asked).scalar() == 0
