"""A password and then a second factor: codes by time, passkeys, recovery codes."""

from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta

import pyotp
import pytest
from sqlalchemy import select

from api.errors import BadInput, DomainError, NotSignedIn, TooMany
from api.people import factors, own, second_step, service
from api.people.passkeys import RelyingParty
from api.storage import access, tables
from api.storage.engine import read, write
from tests.people.authenticator import Authenticator
from tests.people.conftest import LOCATION, PASSWORD, PERSON

pytestmark = pytest.mark.both_databases(long=True)

WHOSE = {"location_id": LOCATION, "person_id": PERSON}
ORIGIN = "http://localhost:8080"
PARTY = RelyingParty(domain="localhost", origin=ORIGIN)
ELSEWHERE = RelyingParty(domain="dose.practice.example", origin="https://dose.practice.example")


def refused(call, *args, **kwargs) -> DomainError:
    with pytest.raises(DomainError) as caught:
        call(*args, **kwargs)
    return caught.value


def add_totp(house):
    """Set up codes by time; return the app that makes them."""
    with write(house.engine) as connection:
        begun = factors.begin_totp(
            connection, house.server_key, **WHOSE, account="ida", **house.given
        )
        app = pyotp.TOTP(begun["secret"])
        factors.confirm_totp(
            connection,
            house.server_key,
            **WHOSE,
            factor_id=begun["factor_id"],
            label="phone",
            code=app.at(house.clock.now()),
            clock=house.clock,
        )
    # The code that confirmed is used up: the next one is shown half a minute later.
    house.clock.advance(30)
    return app


def add_passkey(house, key, party=PARTY):
    with write(house.engine) as connection:
        begun = factors.begin_passkey(
            connection, party, **WHOSE, account="ida", display_name="Ida", **house.given
        )
        factors.confirm_passkey(
            connection,
            party,
            **WHOSE,
            token=begun["token"],
            label="key",
            credential=key.create(begun["options"]),
            **house.given,
        )


def finish(house, step, *, way="totp", code=None, credential=None, party=PARTY):
    return second_step.finish(
        house.engine,
        house.server_key,
        party,
        token=step["token"],
        way=way,
        code=code,
        credential=credential,
        **house.given,
    )


def prove_by_key(house, key, party=PARTY):
    step = house.password()["step"]
    options = second_step.passkey_options(house.engine, party, token=step["token"], **house.given)
    return finish(house, step, way="passkey", credential=key.get(options), party=party)


def test_a_password_alone_opens_nothing_once_there_is_a_factor(house):
    app = add_totp(house)
    found = house.password()
    assert set(found) == {"step"}
    assert found["step"]["ways"] == ["totp"]
    with read(house.engine) as connection, pytest.raises(NotSignedIn):
        service.desk_session(connection, found["step"]["token"], now=house.clock.now())
    session = finish(house, found["step"], code=app.at(house.clock.now()))
    with read(house.engine) as connection:
        known = service.desk_session(connection, session["token"], now=house.clock.now())
    assert known["person"]["person_id"] == PERSON


@pytest.mark.both_databases
def test_a_code_is_good_once(house):
    app = add_totp(house)
    code = app.at(house.clock.now())
    finish(house, house.password()["step"], code=code)
    assert refused(finish, house, house.password()["step"], code=code).code == "factor_wrong"
    # Nor is one from before it, though its time is not over by a step of drift.
    before = app.at(house.clock.now() - timedelta(seconds=30))
    assert refused(finish, house, house.password()["step"], code=before).code == "factor_wrong"


@pytest.mark.both_databases
def test_of_many_that_show_the_same_code_at_once_one_gets_in(house):
    app = add_totp(house)
    steps = [house.password()["step"] for _ in range(4)]
    code = app.at(house.clock.now())

    def attempt(step):
        try:
            return finish(house, step, code=code)["token"] is not None
        except DomainError:
            return False

    with ThreadPoolExecutor(4) as pool:
        assert sum(pool.map(attempt, steps)) == 1


def test_the_first_step_lasts_five_minutes_and_goes_on_once(house):
    app = add_totp(house)
    step = house.password()["step"]
    house.clock.advance(5 * 60)
    assert refused(finish, house, step, code=app.at(house.clock.now())).code == "step_over"
    step = house.password()["step"]
    finish(house, step, code=app.at(house.clock.now()))
    house.clock.advance(60)
    assert refused(finish, house, step, code=app.at(house.clock.now())).code == "step_over"


def test_guesses_at_the_second_factor_are_counted_across_sign_ins(house):
    app = add_totp(house)
    for left in (4, 3, 2, 1, 0):
        step = house.password()["step"]
        wrong = refused(finish, house, step, code="000000")
        assert (wrong.code, wrong.facts["attempts_left"]) == ("factor_wrong", left)
    step = house.password()["step"]
    locked = refused(finish, house, step, code=app.at(house.clock.now()))
    assert (type(locked), locked.code) == (TooMany, "factor_locked")
    house.clock.advance(60)
    finish(house, step, code=app.at(house.clock.now()))
    with read(house.engine) as connection:
        notes = access.entries(connection, LOCATION, subject_id=PERSON)
    assert [note["detail"] for note in notes if note["action"] == "refused"] == [
        {"wrong": "totp"}
    ] * 5


def test_a_wrong_second_step_does_not_open_a_disabled_pin(house):
    add_totp(house)
    for _ in range(10):
        refused(house.pin, "000000")
        house.clock.advance(15 * 60)
    assert refused(house.pin).code == "pin_disabled"
    step = house.password()["step"]
    refused(finish, house, step, code="000000")
    assert refused(house.pin).code == "pin_disabled"


@pytest.mark.both_databases
def test_a_recovery_code_is_shown_once_and_good_once(house):
    add_totp(house)
    with write(house.engine) as connection:
        codes = factors.codes_if_none(connection, **WHOSE, **house.given)
        assert factors.codes_if_none(connection, **WHOSE, **house.given) == []
        stored = connection.execute(select(tables.recovery_code)).mappings().all()
    assert len(set(codes)) == factors.RECOVERY_CODES
    assert not any(code in str(dict(row)) for code in codes for row in stored)
    step = house.password()["step"]
    assert step["ways"] == ["totp", "recovery"]
    finish(house, step, way="recovery", code=codes[0].lower().replace("-", " "))
    again = house.password()["step"]
    assert refused(finish, house, again, way="recovery", code=codes[0]).code == "factor_wrong"
    with read(house.engine) as connection:
        assert own.of_person(connection, LOCATION, PERSON)["recovery_codes_left"] == 9


def test_a_secret_lies_sealed_in_the_database(house):
    app = add_totp(house)
    with read(house.engine) as connection:
        [row] = connection.execute(select(tables.factor)).mappings()
    assert app.secret not in str(dict(row))


def test_what_was_begun_and_not_confirmed_is_no_factor(house):
    with write(house.engine) as connection:
        begun = factors.begin_totp(
            connection, house.server_key, **WHOSE, account="ida", **house.given
        )
    assert "token" in house.password()
    with write(house.engine) as connection:
        wrong = refused(
            factors.confirm_totp,
            connection,
            house.server_key,
            **WHOSE,
            factor_id=begun["factor_id"],
            label="",
            code="000000",
            clock=house.clock,
        )
    assert (type(wrong), wrong.code) == (BadInput, "code_wrong")


def test_a_passkey_signs_in(house):
    key = Authenticator(ORIGIN)
    add_passkey(house, key)
    assert prove_by_key(house, key)["person"]["person_id"] == PERSON
    assert prove_by_key(house, key)["person"]["person_id"] == PERSON


def test_a_passkey_of_another_place_another_count_or_nobody_does_not(house):
    key = Authenticator(ORIGIN)
    add_passkey(house, key)
    prove_by_key(house, key)
    key.origin = "http://localhost.elsewhere.example"
    assert refused(prove_by_key, house, key).code == "factor_wrong"
    key.origin = ORIGIN
    # A count that went back: the key was copied (Web Authentication, 6.1.1).
    key.counter = 0
    assert refused(prove_by_key, house, key).code == "factor_wrong"
    assert refused(prove_by_key, house, Authenticator(ORIGIN)).code == "factor_wrong"
    key.counter = 10
    assert prove_by_key(house, key)["token"]


def test_a_passkey_s_answer_is_good_for_its_own_sign_in_only(house):
    key = Authenticator(ORIGIN)
    add_passkey(house, key)
    first, second = house.password()["step"], house.password()["step"]
    options = second_step.passkey_options(house.engine, PARTY, token=first["token"], **house.given)
    answer = key.get(options)
    wrong = refused(finish, house, second, way="passkey", credential=answer)
    assert wrong.code == "factor_wrong"
    finish(house, first, way="passkey", credential=answer)


def test_there_are_no_passkeys_where_the_address_is_a_number(house):
    wrong = refused(add_passkey, house, Authenticator(ORIGIN), party=None)
    assert (type(wrong), wrong.code) == (BadInput, "passkey_place")


def test_a_passkey_made_for_another_name_is_not_added(house):
    key = Authenticator(ORIGIN)
    assert refused(add_passkey, house, key, party=ELSEWHERE).code == "passkey_wrong"


@pytest.mark.parametrize("credential", [{}, {"id": 1}, {"id": "x", "response": []}])
def test_what_is_no_credential_is_refused_and_breaks_nothing(house, credential):
    key = Authenticator(ORIGIN)
    add_passkey(house, key)
    step = house.password()["step"]
    assert refused(finish, house, step, way="passkey", credential=credential).code == "factor_wrong"


def test_a_short_password_goes_with_a_factor_and_not_without(house):
    short = "zq7 wilo"
    new = {**WHOSE, "sign_in": "ida", "password": short, "actor_id": PERSON, **house.given}
    with write(house.engine) as connection:
        assert refused(service.set_password, connection, **new).code == "password_form"
    add_totp(house)
    with write(house.engine) as connection:
        service.set_password(connection, **new)
        [factor] = factors.of_person(connection, LOCATION, PERSON)
        last = {**WHOSE, "factor_id": factor["factor_id"], "clock": house.clock}
        wrong = refused(own.remove_factor, connection, **last, password=short)
        assert wrong.code == "password_too_short_alone"
        own.remove_factor(connection, **last, password=PASSWORD)
        assert factors.ways(connection, LOCATION, PERSON) == []
