"""Secrets: their form, and that what is stored opens nothing."""

import pytest

from api.errors import BadInput
from api.people import secrets


@pytest.fixture(autouse=True)
def as_ever(in_haste, monkeypatch):
    """The program's own cost of a guess, which all other tests do without."""
    for name, own in in_haste.items():
        monkeypatch.setattr(secrets, name, own)


@pytest.mark.parametrize("pin", ["12345", "1234567", "12345a", "١٢٣٤٥٦", "123456\n", " 123456", ""])
def test_a_pin_is_six_ascii_digits(pin):
    with pytest.raises(BadInput) as refused:
        secrets.check_pin_form(pin)
    assert refused.value.code == "pin_form"


def test_hashing():
    stored = secrets.hash_secret("123456", lambda count: b"s" * count)
    assert stored.startswith("$argon2id$v=19$m=19456,t=2,p=1$")
    # Where there is nothing to check, as much is worked out.
    assert secrets._NOBODY.startswith("$argon2id$v=19$m=19456,t=2,p=1$")
    assert "123456" not in stored
    assert secrets.verify_secret(stored, "123456")
    assert not secrets.verify_secret(stored, "123457")
    assert not secrets.verify_secret(None, "nobody")
    assert not secrets.verify_secret("no hash at all", "123456")
    assert stored != secrets.hash_secret("123456", lambda count: b"t" * count)


def test_tokens_and_codes():
    assert secrets.new_token(lambda count: b"\xff" * count) == "_" * 42 + "8"
    # 0, 31, 32 and 255 leave the remainders 0, 31, 0 and 31 of 32 signs.
    assert secrets.new_code(lambda _: bytes([0, 31, 32, 255, 1] * 2)) == "0Z0Z1-0Z0Z1"
    assert secrets.plain_code(" 0z0z1 oZ0-zi ") == "0Z0Z10Z0Z1"
    # SHA-256 of "abc" (FIPS 180-4's example).
    assert secrets.digest("abc") == (
        "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    )
