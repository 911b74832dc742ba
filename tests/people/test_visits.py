"""What a person sets in the visit of a one-time link: all of it or nothing, and once."""

import pyotp
import pytest
from sqlalchemy import select

from api.errors import BadInput, NotSignedIn
from api.people import factors, links, visits
from api.people.passkeys import RelyingParty
from api.storage import documents, tables
from api.storage.engine import read, write
from tests.people.authenticator import Authenticator
from tests.people.conftest import LOCATION, PERSON

pytestmark = pytest.mark.both_databases(long=True)

NEW = "person-2"
GOOD, SHORT, NEW_PIN = "zq7 willow lamp moss", "zq7 wilo", "918273"
ORIGIN = "http://localhost:8080"
PARTY = RelyingParty(domain="localhost", origin=ORIGIN)


@pytest.fixture
def invited(house):
    """Return a function: roles -> the token of a new person's link."""

    def invite(*roles, purpose=links.INVITE, person_id=NEW):
        with write(house.engine) as connection:
            if person_id == NEW:
                documents.put(
                    connection,
                    LOCATION,
                    "person",
                    NEW,
                    {"person_id": NEW, "display_name": "Mo New", "roles": list(roles)},
                    position=9,
                )
            return links.make_link(
                connection,
                location_id=LOCATION,
                person_id=person_id,
                purpose=purpose,
                made_by="administrator-1",
                **house.given,
            )["token"]

    return invite


def look(house, token):
    with read(house.engine) as connection:
        return visits.look(connection, token, now=house.clock.now())


def use(house, token, **given):
    nothing = dict.fromkeys(("sign_in", "password", "pin", "totp", "passkey"))
    with write(house.engine) as connection:
        return visits.use(
            connection, house.server_key, PARTY, token=token, **{**nothing, **given}, **house.given
        )


def begin_totp(house, token):
    with write(house.engine) as connection:
        return visits.begin_totp(connection, house.server_key, token=token, **house.given)


def wrong_fields(house, token, **given):
    with pytest.raises(BadInput) as refused:
        use(house, token, **given)
    return sorted(refused.value.errors)


@pytest.mark.parametrize(
    ("roles", "password", "pin"),
    [
        (["clinician"], "must", "must"),
        (["assistant"], "may", "must"),
        (["assistant", "front_desk"], "must", "must"),
        (["safety_officer"], "must", "must"),
        (["front_desk"], "must", "no"),
        (["administrator"], "must", "no"),
    ],
)
def test_what_is_asked_for_follows_the_roles(house, invited, roles, password, pin):
    found = look(house, invited(*roles))
    assert (found["password"], found["pin"]) == (password, pin)
    assert (found["display_name"], found["sign_in"], found["has_factor"]) == ("Mo New", None, False)


def test_password_and_pin_that_are_set_sign_in(house, invited):
    token = invited("clinician")
    assert use(house, token, sign_in="Mo", password=GOOD, pin=NEW_PIN) == []
    assert house.password(GOOD, sign_in="mo")["person"]["person_id"] == NEW
    assert house.pin(NEW_PIN, person_id=NEW)["person"]["person_id"] == NEW
    with pytest.raises(NotSignedIn):
        look(house, token)


def test_what_is_missing_is_said_at_its_field_and_leaves_the_link_as_it_was(house, invited):
    token = invited("clinician")
    assert wrong_fields(house, token) == ["password", "pin"]
    assert wrong_fields(house, token, password=GOOD, pin=NEW_PIN) == ["sign_in"]
    assert wrong_fields(house, token, sign_in="mo", password=SHORT, pin=NEW_PIN) == ["password"]
    assert wrong_fields(house, token, sign_in="mo", password=GOOD, pin="12345") == ["pin"]
    taken = {"sign_in": "Dr. Test", "password": GOOD, "pin": NEW_PIN}
    assert wrong_fields(house, token, **taken) == ["sign_in"]
    with read(house.engine) as connection:
        rows = connection.execute(select(tables.secret.c.person_id)).scalars().all()
    assert rows == [PERSON]
    use(house, token, sign_in="mo", password=GOOD, pin=NEW_PIN)


def test_nobody_without_work_on_a_tablet_gets_a_pin(house, invited):
    token = invited("front_desk")
    assert wrong_fields(house, token, sign_in="mo", password=GOOD, pin=NEW_PIN) == ["pin"]


def test_with_a_second_factor_of_the_same_visit_a_password_may_be_short(house, invited):
    token = invited("front_desk")
    begun = begin_totp(house, token)
    app = pyotp.TOTP(begun["secret"])
    new = {"sign_in": "mo", "password": SHORT}
    totp = {"factor_id": begun["factor_id"], "code": "000000", "label": "phone"}
    assert wrong_fields(house, token, **new, totp=totp) == ["code"]
    # A wrong code sets nothing, and the right one may still be typed.
    codes = use(house, token, **new, totp={**totp, "code": app.at(house.clock.now())})
    assert len(codes) == factors.RECOVERY_CODES
    assert house.password(SHORT, sign_in="mo")["step"]["ways"] == ["totp", "recovery"]


def test_a_passkey_of_the_same_visit_counts_too(house, invited):
    token = invited("front_desk")
    with write(house.engine) as connection:
        begun = visits.begin_passkey(connection, PARTY, token=token, **house.given)
    made = Authenticator(ORIGIN).create(begun["options"])
    passkey = {"token": begun["token"], "credential": made, "label": "key"}
    codes = use(house, token, sign_in="mo", password=SHORT, passkey=passkey)
    assert len(codes) == factors.RECOVERY_CODES
    assert house.password(SHORT, sign_in="mo")["step"]["ways"] == ["passkey", "recovery"]


def test_a_factor_begun_in_another_s_visit_is_not_taken(house, invited):
    begun = begin_totp(house, invited("front_desk"))
    code = pyotp.TOTP(begun["secret"]).at(house.clock.now())
    mine = invited(purpose=links.RESET, person_id=PERSON)
    with pytest.raises(Exception, match="Nothing was begun"):
        use(
            house,
            mine,
            pin=NEW_PIN,
            totp={"factor_id": begun["factor_id"], "code": code, "label": ""},
        )


def test_a_forgotten_pin_is_reset_without_another_password(house, invited):
    session = house.pin()["person_token"]
    token = invited(purpose=links.RESET, person_id=PERSON)
    found = look(house, token)
    assert (found["password"], found["pin"], found["sign_in"]) == ("may", "may", "dr. test")
    use(house, token, pin=NEW_PIN)
    assert house.pin(NEW_PIN)["person"]["person_id"] == PERSON
    assert house.password()["token"] and session


def test_a_reset_keeps_the_second_factor_unless_it_is_lost_as_well(house, invited):
    token = invited(purpose=links.RESET, person_id=PERSON)
    begun = begin_totp(house, token)
    app = pyotp.TOTP(begun["secret"])
    totp = {"factor_id": begun["factor_id"], "code": app.at(house.clock.now()), "label": ""}
    use(house, token, sign_in="dr. test", password=SHORT, totp=totp)
    again = invited(purpose=links.RESET, person_id=PERSON)
    assert look(house, again)["has_factor"]
    use(house, again, sign_in="dr. test", password=SHORT + "x")
    assert "step" in house.password(SHORT + "x")
    lost = invited(purpose=links.RESET_ALL, person_id=PERSON)
    assert (look(house, lost)["has_factor"], look(house, lost)["password"]) == (False, "must")
    assert wrong_fields(house, lost, sign_in="dr. test", password=SHORT) == ["password"]
    use(house, lost, sign_in="dr. test", password=GOOD)
    assert "token" in house.password(GOOD)
    with read(house.engine) as connection:
        assert connection.execute(select(tables.recovery_code)).all() == []
