"""Codes by time against RFC 6238's own table, their drift, and how their secret is kept."""

import base64
from datetime import UTC, datetime, timedelta

import pytest
from cryptography.exceptions import InvalidTag

from api.events import signing
from api.people import totp

# RFC 6238, appendix B, SHA-1: its codes have 8 digits, of which the last 6 are the 6-digit code
# (RFC 4226, section 5.3: the same number modulo 10^6 instead of 10^8).
SECRET = base64.b32encode(b"12345678901234567890").decode()
PRINTED = {
    59: "94287082",
    1111111109: "07081804",
    1111111111: "14050471",
    1234567890: "89005924",
    2000000000: "69279037",
    20000000000: "65353130",
}


def at(seconds: float) -> datetime:
    return datetime(1970, 1, 1, tzinfo=UTC) + timedelta(seconds=seconds)


@pytest.mark.parametrize(("seconds", "printed"), PRINTED.items())
def test_codes_are_those_of_the_standard(seconds, printed):
    assert totp.step_of(SECRET, printed[-6:], now=at(seconds)) == seconds // 30


def test_a_clock_may_be_one_step_off_and_no_more():
    code = PRINTED[1111111109][-6:]
    step = 1111111109 // 30
    for steps, fits in ((-2, False), (-1, True), (0, True), (1, True), (2, False)):
        found = totp.step_of(SECRET, code, now=at((step + steps) * 30))
        assert found == (step if fits else None), steps


@pytest.mark.parametrize("code", ["", "94287082", "28708", "28708a", "0" * 1000])
def test_anything_else_is_no_code(code):
    assert totp.step_of(SECRET, code, now=at(59)) is None


def test_a_secret_has_160_bits():
    # RFC 4226, section 4, R6: 160 bits recommended.
    assert len(base64.b32decode(totp.new_secret(lambda count: b"x" * count))) == 20


def test_a_sealed_secret_opens_in_its_own_row_under_its_own_server_only():
    key = signing.new_private_key()
    sealed = totp.seal(key, SECRET, of="place|person|1", random=lambda count: b"n" * count)
    assert SECRET not in sealed
    assert totp.unseal(key, sealed, of="place|person|1") == SECRET
    for other_key, of in ((key, "place|person|2"), (signing.new_private_key(), "place|person|1")):
        with pytest.raises(InvalidTag):
            totp.unseal(other_key, sealed, of=of)


def test_an_app_is_told_name_and_issuer():
    # The "Key Uri Format" that authenticator apps read; from memory.
    address = totp.address(SECRET, account="ida", issuer="Dosebook")
    assert address == f"otpauth://totp/Dosebook:ida?secret={SECRET}&issuer=Dosebook"
    assert totp.picture(address).startswith("data:image/svg+xml")
