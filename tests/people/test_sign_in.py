"""PIN and password: right, wrong, too often, at once, and after a restart."""

from concurrent.futures import ThreadPoolExecutor

import pytest
from sqlalchemy import select

from api.errors import BadInput, DomainError, NotAllowed, NotSignedIn, TooMany
from api.people import attempts, service, tokens
from api.storage import access, accounts, documents, event_store, tables
from api.storage.engine import is_postgresql, read, write
from tests.people.conftest import LOCATION, PASSWORD, PERSON, PIN, SIGN_IN, TABLET

pytestmark = pytest.mark.both_databases(long=True)

WRONG = "000000"


def refused(call, *args, **kwargs) -> DomainError:
    with pytest.raises(DomainError) as caught:
        call(*args, **kwargs)
    return caught.value


@pytest.mark.both_databases
def test_a_right_pin_signs_in_on_this_tablet_only(house):
    found = house.pin()
    assert found["person"]["person_id"] == PERSON
    assert found["expires_at"] == "2026-03-02T20:00:00.000+00:00"
    with read(house.engine) as connection:
        now = house.clock.now()
        known = service.person_on_tablet(
            connection, found["person_token"], tablet_id=TABLET, now=now
        )
        assert (known["location_id"], known["person"]["roles"]) == (LOCATION, ["clinician"])
        for token, tablet in ((found["person_token"], "tablet-2"), ("made up", TABLET)):
            with pytest.raises(NotSignedIn):
                service.person_on_tablet(connection, token, tablet_id=tablet, now=now)
        with pytest.raises(NotSignedIn):
            service.desk_session(connection, found["person_token"], now=now)


def use(house, token):
    """Use a desk session as a request does."""
    with read(house.engine) as connection:
        found = service.desk_session(connection, token, now=house.clock.now())
    tokens.note_use(house.engine, token=token, used_at=found["used_at"], now=house.clock.now())


def test_a_session_ends_after_twelve_hours_however_busy_and_at_sign_out(house):
    token = house.password()["token"]
    for _ in range(12 * 60 // 20 - 1):
        house.clock.advance(20 * 60)
        use(house, token)
    house.clock.advance(20 * 60 - 1)
    use(house, token)
    house.clock.advance(1)
    with pytest.raises(NotSignedIn):
        use(house, token)
    token = house.password()["token"]
    service.sign_out(house.engine, token=token, clock=house.clock)
    with read(house.engine) as connection, pytest.raises(NotSignedIn):
        service.desk_session(connection, token, now=house.clock.now())


def test_a_desk_that_nobody_uses_is_signed_out_after_thirty_minutes(house):
    token = house.password()["token"]
    house.clock.advance(30 * 60 - 1)
    use(house, token)
    house.clock.advance(30 * 60 - 1)
    use(house, token)
    house.clock.advance(30 * 60)
    with pytest.raises(NotSignedIn):
        use(house, token)
    # A tablet locks by itself; what it holds of a person lasts the twelve hours.
    token = house.pin()["person_token"]
    house.clock.advance(12 * 3600 - 1)
    with read(house.engine) as connection:
        service.person_on_tablet(connection, token, tablet_id=TABLET, now=house.clock.now())


def test_a_name_that_nobody_has_is_paused_like_any_other(house):
    codes = [
        [refused(house.password, "wrong", sign_in=name).code for _ in range(6)]
        for name in (SIGN_IN, "nobody at all")
    ]
    assert codes[0] == codes[1] == ["sign_in_wrong"] * 5 + ["password_locked"]


def test_a_disabled_pin_leaves_an_open_session_alone(house):
    token = house.pin()["person_token"]
    for _ in range(10):
        refused(house.pin, WRONG)
        house.clock.advance(15 * 60)
    assert refused(house.pin).code == "pin_disabled"
    with read(house.engine) as connection:
        service.person_on_tablet(connection, token, tablet_id=TABLET, now=house.clock.now())


def test_roles_are_those_of_now(house):
    token = house.password()["token"]
    with write(house.engine) as connection:
        documents.put(
            connection, LOCATION, "person", PERSON, {"person_id": PERSON, "roles": []}, position=3
        )
        known = service.desk_session(connection, token, now=house.clock.now())
    assert known["person"]["roles"] == []


def test_five_wrong_pins_pause_and_ten_disable(house):
    left = [refused(house.pin, WRONG).facts["attempts_left"] for _ in range(5)]
    assert left == [4, 3, 2, 1, 0]
    # The right PIN does not help while paused; minutes 1, 2, 4, 8, 15 follow the 5th to 9th.
    pauses_s = [60, 120, 240, 480, 900]
    for pause_s in pauses_s:
        locked = refused(house.pin)
        assert (type(locked), locked.code) == (TooMany, "pin_locked")
        house.clock.advance(pause_s - 1)
        assert refused(house.pin, PIN).code == "pin_locked"
        house.clock.advance(1)
        assert refused(house.pin, WRONG).code == "pin_wrong"
    house.clock.advance(10 * 24 * 3600)
    disabled = refused(house.pin)
    assert (type(disabled), disabled.code) == (NotAllowed, "pin_disabled")
    house.password()
    assert house.pin()["person"]["person_id"] == PERSON


def test_a_right_pin_forgives_the_wrong_ones(house):
    for _ in range(3):
        for _ in range(4):
            refused(house.pin, WRONG)
        house.pin()
    assert refused(house.pin, WRONG).facts == {"attempts_left": 4}


def test_the_pause_says_when_it_ends(house):
    for _ in range(4):
        refused(house.pin, WRONG)
    fifth = refused(house.pin, WRONG)
    assert fifth.facts == {"attempts_left": 0, "until": "2026-03-02T08:01:00.000+00:00"}
    assert refused(house.pin).facts == {"until": "2026-03-02T08:01:00.000+00:00"}


def guesses_let_through(house) -> int:
    """Twenty tablets guess at once: how many reach the point where the PIN is compared."""

    def guess(number: int) -> str:
        return refused(house.pin, f"{number:06}", tablet_id=f"tablet-{number}").code

    with ThreadPoolExecutor(20) as pool:
        return list(pool.map(guess, range(20))).count("pin_wrong")


@pytest.mark.both_databases
def test_a_race_gains_no_guess(house):
    assert guesses_let_through(house) == 5


def test_counting_after_checking_would_be_caught(house, monkeypatch):
    """The known-bad stub: look first, count later, as if nobody else were guessing."""

    def look_only(engine, *, location_id, kind, subject, now):
        return 1

    monkeypatch.setattr(attempts, "take", look_only)
    assert guesses_let_through(house) == 20


@pytest.mark.both_databases
def test_counters_live_in_the_database(house):
    for _ in range(5):
        refused(house.pin, WRONG)
    house.engine.dispose()
    assert refused(house.pin).code == "pin_locked"
    with read(house.engine) as connection:
        assert accounts.attempts(connection, LOCATION, "pin", PERSON)["wrong"] == 5


def test_a_disabled_pin_leaves_open_sessions_alone(house):
    token = house.pin()["person_token"]
    with write(house.engine) as connection:
        for _ in range(10):
            accounts.count_wrong(connection, LOCATION, "pin", PERSON)
    assert refused(house.pin).code == "pin_disabled"
    with read(house.engine) as connection:
        service.person_on_tablet(connection, token, tablet_id=TABLET, now=house.clock.now())


def test_absent_persons_look_like_wrong_pins(house):
    absent = refused(house.pin, person_id="nobody")
    assert (absent.code, absent.facts) == ("pin_wrong", {"attempts_left": 4})
    with read(house.engine) as connection:
        assert accounts.attempts(connection, LOCATION, "pin", "nobody")["wrong"] == 0


def test_passwords(house):
    assert house.password(sign_in="  dr. TEST ")["location_id"] == LOCATION
    assert refused(house.password, "wrong " * 4).code == "sign_in_wrong"
    assert refused(house.password, sign_in="nobody").code == "sign_in_wrong"
    for _ in range(4):
        refused(house.password, "wrong " * 4)
    locked = refused(house.password)
    assert (locked.code, locked.facts) == (
        "password_locked",
        {"until": "2026-03-02T08:01:00.000+00:00"},
    )
    house.clock.advance(60)
    house.password()


@pytest.mark.both_databases
def test_a_name_has_one_holder_and_a_new_password_ends_sessions(house):
    token = house.password()["token"]
    known = {"location_id": LOCATION, "actor_id": None, **house.given}
    with write(house.engine) as connection:
        documents.put(connection, LOCATION, "person", "p2", {"person_id": "p2"}, position=3)
        with pytest.raises(BadInput) as taken:
            service.set_password(
                connection, person_id="p2", sign_in=SIGN_IN.upper(), password=PASSWORD, **known
            )
        assert taken.value.code == "sign_in_taken"
        service.set_password(
            connection, person_id=PERSON, sign_in=SIGN_IN, password=PASSWORD + "!", **known
        )
        with pytest.raises(NotSignedIn):
            service.desk_session(connection, token, now=house.clock.now())


@pytest.mark.both_databases
def test_a_name_that_somebody_has_at_another_location_is_taken_too(house):
    there = {"location_id": "loc-2", "person_id": "p", "actor_id": None, **house.given}
    with write(house.engine, locations=["loc-2"]) as connection:
        event_store.open_location(connection, "loc-2", epoch="e", now=house.clock.now())
        documents.put(connection, "loc-2", "person", "p", {"person_id": "p"}, position=1)
        with pytest.raises(BadInput) as taken:
            service.set_password(connection, sign_in=SIGN_IN, password=PASSWORD, **there)
        assert taken.value.code == "sign_in_taken"
        service.set_password(connection, sign_in="another", password=PASSWORD, **there)
    assert house.password(sign_in="another")["location_id"] == "loc-2"


def test_signing_in_and_refusals_are_written_down(house):
    house.pin()
    refused(house.pin, WRONG)
    house.password()
    with read(house.engine) as connection:
        told = [
            (row["action"], row["actor_id"], row["tablet_id"])
            for row in access.entries(connection, LOCATION)[:3]
        ]
    assert told == [
        ("sign_in", PERSON, None),
        ("refused", None, TABLET),
        ("sign_in", PERSON, TABLET),
    ]


def test_only_hashes_are_stored(house, tmp_path):
    tokens = [house.pin()["person_token"], house.password()["token"], house.code()]
    house.engine.dispose()
    if is_postgresql(house.engine):
        with read(house.engine) as connection:
            every = tables.metadata.sorted_tables
            rows = [connection.execute(select(each)).all() for each in every]
        stored = repr(rows).encode()
    else:
        stored = b"".join(path.read_bytes() for path in tmp_path.iterdir())
    assert PERSON.encode() in stored
    for text in [*tokens, tokens[2].replace("-", ""), PIN, PASSWORD]:
        assert text.encode() not in stored
