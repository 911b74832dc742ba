"""Signatures of tablets and server: ECDSA on P-256 with SHA-256, the form that browsers make.

A signature is r and s as 32 bytes each, side by side, in base64url without padding, because that
is what WebCrypto gives. A public key is its SubjectPublicKeyInfo in DER, in the same base64url.
"""

import base64
import binascii
from functools import lru_cache

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.asymmetric.utils import (
    decode_dss_signature,
    encode_dss_signature,
)

from api.errors import BadInput

PrivateKey = ec.EllipticCurvePrivateKey
_HALF_BYTES = 32
_HOW = ec.ECDSA(hashes.SHA256())


def to_base64url(data: bytes) -> str:
    """Return ``data`` in base64url without padding."""
    return base64.urlsafe_b64encode(data).rstrip(b"=").decode("ascii")


def from_base64url(text: str) -> bytes:
    """Return the bytes that ``text`` stands for. Raises ``ValueError`` for anything else."""
    try:
        data = base64.b64decode(text + "=" * (-len(text) % 4), altchars=b"-_", validate=True)
    except (binascii.Error, UnicodeEncodeError, TypeError) as problem:
        raise ValueError("not base64url") from problem
    if to_base64url(data) != text:
        # One value must have one spelling, or the same signature could come in several forms.
        raise ValueError("not base64url in its shortest form")
    return data


def new_private_key() -> PrivateKey:
    """Make a new key."""
    return ec.generate_private_key(ec.SECP256R1())


def public_key_text(private_key: PrivateKey) -> str:
    """Return the public half of ``private_key`` as it is stored and sent."""
    return to_base64url(
        private_key.public_key().public_bytes(
            serialization.Encoding.DER, serialization.PublicFormat.SubjectPublicKeyInfo
        )
    )


@lru_cache(maxsize=1024)
def load_public_key(text: str) -> ec.EllipticCurvePublicKey:
    """Read a public key. Raises ``BadInput`` unless it is a P-256 key."""
    try:
        key = serialization.load_der_public_key(from_base64url(text))
    except (ValueError, TypeError) as problem:
        raise BadInput(
            "public_key_unreadable", "this is not a public key", field="public_key"
        ) from problem
    if not isinstance(key, ec.EllipticCurvePublicKey) or key.curve.name != "secp256r1":
        raise BadInput("public_key_unreadable", "the key must be on P-256", field="public_key")
    return key


def sign(private_key: PrivateKey, text: str) -> str:
    """Sign ``text`` in UTF-8."""
    der = private_key.sign(text.encode("utf-8"), _HOW)
    r, s = decode_dss_signature(der)
    return to_base64url(r.to_bytes(_HALF_BYTES, "big") + s.to_bytes(_HALF_BYTES, "big"))


def verify(public_key: str, text: str, signature: str) -> bool:
    """Say whether ``signature`` over ``text`` was made by the owner of ``public_key``."""
    try:
        raw = from_base64url(signature)
    except ValueError:
        return False
    if len(raw) != 2 * _HALF_BYTES:
        return False
    r = int.from_bytes(raw[:_HALF_BYTES], "big")
    s = int.from_bytes(raw[_HALF_BYTES:], "big")
    try:
        load_public_key(public_key).verify(encode_dss_signature(r, s), text.encode("utf-8"), _HOW)
    except InvalidSignature:
        return False
    return True
