"""Passwords, PINs, codes and tokens: made, checked and stored so that a copy opens nothing."""

import base64
import hashlib
import hmac
import re
from collections.abc import Callable

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError

from api.errors import BadInput

Random = Callable[[int], bytes]

PASSWORD_SHORTEST = 15
PASSWORD_LONGEST = 256
TOKEN_BYTES = 32
# 32 signs without I, L, O and U, so that a code read aloud or off paper is typed right.
CODE_SIGNS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
CODE_LENGTH = 10

# Argon2id with 19 MiB, two rounds, one lane: the least that OWASP's password storage cheat sheet
# names (from memory), chosen so that eight sign-ins at once fit a small server.
_HASHER = PasswordHasher(time_cost=2, memory_cost=19 * 1024, parallelism=1)
_SALT_BYTES = 16
_PIN = re.compile(r"[0-9]{6}")
# Checked where there is nothing to check, so that an absent person takes as long as a wrong PIN.
_NOBODY = _HASHER.hash("nobody", salt=bytes(_SALT_BYTES))


def check_pin_form(pin: str) -> None:
    """Raise ``BadInput`` unless ``pin`` is six ASCII digits."""
    if not isinstance(pin, str) or _PIN.fullmatch(pin) is None:
        raise BadInput("pin_form", "A PIN is six digits.", field="pin")


def hash_secret(secret: str, random: Random) -> str:
    """Return the Argon2id text under which ``secret`` is stored."""
    return _HASHER.hash(secret, salt=random(_SALT_BYTES))


def verify_secret(stored: str | None, secret: str) -> bool:
    """Return whether ``secret`` is the stored one; takes as long when nothing is stored."""
    try:
        _HASHER.verify(stored or _NOBODY, secret)
    except (VerificationError, InvalidHashError):
        return False
    return stored is not None


def new_token(random: Random) -> str:
    """Return an opaque token of 256 random bits, base64url without padding."""
    return base64.urlsafe_b64encode(random(TOKEN_BYTES)).rstrip(b"=").decode("ascii")


def new_code(random: Random) -> str:
    """Return a one-time code of 50 random bits, written in two groups of five signs."""
    signs = "".join(CODE_SIGNS[byte % len(CODE_SIGNS)] for byte in random(CODE_LENGTH))
    return f"{signs[:5]}-{signs[5:]}"


def plain_code(text: str) -> str:
    """Return a typed code as it was made: capitals, no gaps, and the look-alikes put right."""
    signs = re.sub(r"[\s-]", "", text).upper()
    return signs.translate(str.maketrans("ILO", "110"))


def digest(token: str) -> str:
    """Return the SHA-256 of a token or code in hex: all that is stored of it.

    Enough without salt and rounds, because tokens and codes are random, unlike a chosen secret.
    """
    return hashlib.sha256(token.encode("utf-8")).hexdigest()


def same(left: str, right: str) -> bool:
    """Compare two texts in a time that does not depend on where they differ."""
    return hmac.compare_digest(left.encode("utf-8"), right.encode("utf-8"))
