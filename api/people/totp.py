"""Codes by time (TOTP, RFC 6238): made for a phone's app, sealed at rest, each good once."""

import base64
from collections.abc import Callable
from datetime import datetime

import pyotp
import segno
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.ciphers.aead import AESGCM
from cryptography.hazmat.primitives.kdf.hkdf import HKDF

from api.events import signing

Random = Callable[[int], bytes]

# The defaults of RFC 6238 that every app reads: SHA-1, 6 digits, 30 s; 160 bits as RFC 4226 asks.
STEP_S = 30
SECRET_BYTES = 20
# One step to either side: RFC 6238, section 5.2, for the delay on the way and clocks that drift.
DRIFT_STEPS = 1
_NONCE_BYTES = 12


def new_secret(random: Random) -> str:
    """Return a secret of 160 random bits in Base32, as apps take it."""
    return base64.b32encode(random(SECRET_BYTES)).decode("ascii")


def address(secret: str, *, account: str, issuer: str) -> str:
    """Return the ``otpauth:`` address that an app reads from a QR code."""
    return pyotp.TOTP(secret).provisioning_uri(name=account, issuer_name=issuer)


def picture(text: str) -> str:
    """Return ``text`` as a QR code: an SVG in a ``data:`` address, dark on white."""
    return segno.make(text, error="m").svg_data_uri(scale=5, border=4, light="#fff")


def step_of(secret: str, code: str, *, now: datetime) -> int | None:
    """Return the step of time that ``code`` belongs to, or None if it fits none near ``now``.

    The caller lets each step through once, so that a code looked at over a shoulder is worth
    nothing (RFC 6238, section 5.2).
    """
    maker = pyotp.TOTP(secret)
    here = maker.timecode(now)
    found = None
    for step in range(here - DRIFT_STEPS, here + DRIFT_STEPS + 1):
        # All of them are looked at, so that the time does not tell which one fitted.
        if pyotp.utils.strings_equal(maker.generate_otp(step), code):
            found = step
    return found


def seal(server_key: signing.PrivateKey, secret: str, *, of: str, random: Random) -> str:
    """Return ``secret`` encrypted under a key of the server; ``of`` says whose it is.

    A copy of the database alone makes no codes; a secret moved to another row does not open.
    """
    nonce = random(_NONCE_BYTES)
    sealed = AESGCM(_key(server_key)).encrypt(nonce, secret.encode(), of.encode())
    return signing.to_base64url(nonce + sealed)


def unseal(server_key: signing.PrivateKey, sealed: str, *, of: str) -> str:
    """Return the secret that :func:`seal` sealed. Raises ``InvalidTag`` for another key or row."""
    raw = signing.from_base64url(sealed)
    nonce, text = raw[:_NONCE_BYTES], raw[_NONCE_BYTES:]
    return AESGCM(_key(server_key)).decrypt(nonce, text, of.encode()).decode()


def _key(server_key: signing.PrivateKey) -> bytes:
    secret = server_key.private_numbers().private_value.to_bytes(32, "big")
    derive = HKDF(algorithm=hashes.SHA256(), length=32, salt=None, info=b"dosebook-factor-1")
    return derive.derive(secret)
