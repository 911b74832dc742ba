"""Enrolling a tablet, proving its key, revoking it."""

import hmac
import json
from datetime import timedelta

import pytest

from api.errors import BadInput, Conflict, NotFound, NotSignedIn
from api.events import signing
from api.people import service, tablet_tokens, tablets
from api.storage.engine import read, write
from tests.people.conftest import LOCATION, PERSON

pytestmark = pytest.mark.both_databases(long=True)


@pytest.fixture
def key():
    return signing.new_private_key()


def token_for(house, tablet_id, key, *, nonce=None):
    nonce = (
        nonce or tablet_tokens.challenge(house.engine, tablet_id=tablet_id, **house.given)["nonce"]
    )
    return tablet_tokens.give_token(
        house.engine,
        tablet_id=tablet_id,
        nonce=nonce,
        signature=signing.sign(key, nonce),
        **house.given,
    )


@pytest.mark.both_databases
def test_enrolment(house, key):
    enrolled = house.enrol(house.code().lower().replace("-", " "), key)
    certificate = enrolled["certificate"]
    assert signing.verify(
        enrolled["server_public_key"], certificate["text"], certificate["signature"]
    )
    assert json.loads(certificate["text"]) == {
        "tablet_id": enrolled["tablet_id"],
        "location_id": LOCATION,
        "public_key": signing.public_key_text(key),
        "issued_at": "2026-03-02T08:00:00.000+00:00",
    }
    assert enrolled["enrolled_by"] == PERSON


def test_no_two_tablets_have_one_name(house, key):
    def named(label, **more):
        return house.enrol(house.code(), key, label=label, **more)["label"]

    # As people tell names apart.
    assert [named(each) for each in ("Room 1", "room  1 ", "ROOM 1", "Room 2")] == [
        "Room 1",
        "room  1 (2)",
        "ROOM 1 (3)",
        "Room 2",
    ]
    longest = "n" * 80
    assert named(longest) == longest
    # By hand: 80 - len(" (2)") = 76.
    assert named(longest) == "n" * 76 + " (2)"


def test_a_tablet_that_is_shut_out_leaves_its_name_to_others(house, key):
    lost = house.enrol(house.code(), key)["tablet_id"]
    with write(house.engine) as connection:
        now = house.clock.now()
        tablets.revoke(connection, location_id=LOCATION, tablet_id=lost, now=now)
    other = house.enrol(house.code(), key)
    assert other["label"] == "Chair one"
    third = house.enrol(house.code(), key, label="Chair two")["tablet_id"]
    with write(house.engine) as connection, pytest.raises(BadInput) as refused:
        tablets.rename(connection, location_id=LOCATION, tablet_id=third, label="chair ONE")
    assert refused.value.code == "label_taken"
    with write(house.engine) as connection:
        # Its own name in other letters is no other tablet's.
        wanted = {"location_id": LOCATION, "tablet_id": third, "label": "CHAIR two"}
        assert tablets.rename(connection, **wanted) == "CHAIR two"


def test_the_keep_key_is_the_tablets_own_and_worked_out_as_rfc_5869_says(house, key):
    one, other = house.enrol(house.code(), key), house.enrol(house.code(), key)
    assert one["keep_key"] != other["keep_key"]
    # RFC 5869, section 2: extract with 32 zero bytes as salt, then the first block of expand.
    secret = house.server_key.private_numbers().private_value.to_bytes(32, "big")
    extracted = hmac.digest(bytes(32), secret, "sha256")
    info = b"dosebook-keep-1|" + one["tablet_id"].encode()
    block = hmac.digest(extracted, info + b"\x01", "sha256")
    assert signing.from_base64url(one["keep_key"]) == block


def test_the_view_key_is_worked_out_in_the_same_way_and_is_another(house, key):
    tablet_id = house.enrol(house.code(), key)["tablet_id"]
    secret = house.server_key.private_numbers().private_value.to_bytes(32, "big")
    extracted = hmac.digest(bytes(32), secret, "sha256")
    block = hmac.digest(extracted, b"dosebook-view-1|" + tablet_id.encode() + b"\x01", "sha256")
    assert signing.from_base64url(tablets.view_key(house.server_key, tablet_id)) == block
    assert tablets.view_key(house.server_key, tablet_id) != tablets.keep_key(
        house.server_key, tablet_id
    )


@pytest.mark.both_databases
def test_a_code_works_once(house, key):
    code = house.code()
    house.enrol(code, key)
    with pytest.raises(NotSignedIn) as again:
        house.enrol(code, key)
    assert again.value.code == "code_wrong"


def test_a_code_lives_ten_minutes(house, key):
    first, second = house.code(), house.code()
    house.clock.advance(599)
    house.enrol(first, key)
    house.clock.advance(1)
    with pytest.raises(NotSignedIn):
        house.enrol(second, key)
    longer = house.code(life=timedelta(hours=1))
    house.clock.advance(3599)
    house.enrol(longer, key)


def test_a_bad_key_or_label_leaves_the_code_unused(house, key):
    code = house.code()
    with pytest.raises(BadInput), write(house.engine) as connection:
        tablets.enrol(
            connection,
            code=code,
            public_key="bm90IGEga2V5",
            label="Chair one",
            server_key=house.server_key,
            **house.given,
        )
    with pytest.raises(BadInput):
        house.enrol(code, key, label=" ")
    with pytest.raises(NotSignedIn):
        house.enrol("AAAAA-AAAAA", key)
    house.enrol(code, key)


def test_a_code_needs_a_location(house):
    with write(house.engine) as connection, pytest.raises(NotFound):
        tablets.make_code(connection, location_id="elsewhere", made_by=None, **house.given)


def test_a_signed_nonce_gives_a_token(house, key):
    tablet_id = house.enrol(house.code(), key)["tablet_id"]
    given = token_for(house, tablet_id, key)
    assert given["expires_at"] == "2026-03-02T20:00:00.000+00:00"
    with read(house.engine) as connection:
        row = tablet_tokens.by_token(connection, given["token"], now=house.clock.now())
        assert (row["tablet_id"], row["location_id"], row["revoked_at"]) == (
            tablet_id,
            LOCATION,
            None,
        )
        house.clock.advance(12 * 3600)
        with pytest.raises(NotSignedIn):
            tablet_tokens.by_token(connection, given["token"], now=house.clock.now())


@pytest.mark.both_databases
def test_nonces(house, key):
    tablet_id = house.enrol(house.code(), key)["tablet_id"]
    other_id = house.enrol(house.code(), signing.new_private_key())["tablet_id"]
    nonce = tablet_tokens.challenge(house.engine, tablet_id=tablet_id, **house.given)["nonce"]
    for wrong in (
        lambda: token_for(house, other_id, key, nonce=nonce),
        lambda: token_for(house, tablet_id, signing.new_private_key(), nonce=nonce),
        # Used up by the wrong signature.
        lambda: token_for(house, tablet_id, key, nonce=nonce),
        lambda: token_for(house, tablet_id, key, nonce="made up"),
        lambda: token_for(house, "nobody", key),
    ):
        with pytest.raises(NotSignedIn) as refused:
            wrong()
        assert refused.value.code == "tablet_unproven"
    late = tablet_tokens.challenge(house.engine, tablet_id=tablet_id, **house.given)["nonce"]
    house.clock.advance(120)
    with pytest.raises(NotSignedIn):
        token_for(house, tablet_id, key, nonce=late)


def test_a_revoked_tablet_signs_nobody_in_but_may_prove_its_key(house, key):
    tablet_id = house.enrol(house.code(), key)["tablet_id"]
    token = token_for(house, tablet_id, key)["token"]
    person = house.pin(tablet_id=tablet_id)["person_token"]
    now = house.clock.now()
    shut = {"location_id": LOCATION, "tablet_id": tablet_id, "now": now}
    with write(house.engine) as connection:
        with pytest.raises(NotFound):
            tablets.revoke(connection, **{**shut, "location_id": "elsewhere"})
        tablets.revoke(connection, **shut)
        with pytest.raises(Conflict) as again:
            tablets.revoke(connection, **shut)
        assert again.value.code == "already_revoked"
        with pytest.raises(NotSignedIn):
            tablet_tokens.by_token(connection, token, now=now)
        with pytest.raises(NotSignedIn):
            service.person_on_tablet(connection, person, tablet_id=tablet_id, now=now)
    again = token_for(house, tablet_id, key)["token"]
    with read(house.engine) as connection:
        assert tablet_tokens.by_token(connection, again, now=now)["revoked_at"] is not None
