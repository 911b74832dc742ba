"""The recovery key: words on paper that open what a backup seals of the server's own keys.

16 words carry 128 random bits, two more a checksum. The private key (X25519) is worked out from the
bits by HKDF (RFC 5869); the server keeps only the public one, with which a backup is sealed
without anybody being there (HPKE, RFC 9180).
"""

import difflib
import hashlib
import json
from collections.abc import Callable
from pathlib import Path

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric.x25519 import X25519PrivateKey, X25519PublicKey
from cryptography.hazmat.primitives.hpke import AEAD, KDF, KEM, Suite
from cryptography.hazmat.primitives.kdf.hkdf import HKDF

from api.errors import BadInput
from api.events import signing

# Each tells itself from all others by its first four letters.
WORDS: tuple[str, ...] = tuple(
    json.loads(Path(__file__).with_name("recovery_words.json").read_text())
)
BITS_BYTES = 16
CHECK_BYTES = 2
WORD_COUNT = BITS_BYTES + CHECK_BYTES
_A_LINE = 6
_KEY_INFO = b"dosebook-recovery-1"
_SEAL_INFO = b"dosebook-sealed-1|"
_SUITE = Suite(KEM.X25519, KDF.HKDF_SHA256, AEAD.AES_256_GCM)


def make(random: Callable[[int], bytes]) -> str:
    """Return a new recovery key: 18 words, six to a line."""
    bits = random(BITS_BYTES)
    words = [WORDS[each] for each in bits + _check(bits)]
    lines = [" ".join(words[at : at + _A_LINE]) for at in range(0, WORD_COUNT, _A_LINE)]
    return "\n".join(lines)


def private_key(typed: str) -> X25519PrivateKey:
    """Read a recovery key as it was typed, in any case and with any blanks or commas.

    Raises ``BadInput`` "recovery_key_mistyped" that names the word at fault, or says that the words
    do not belong together (one of 65,536 wrong keys passes that; it then opens nothing).
    """
    words = typed.replace(",", " ").casefold().split()
    read = bytearray()
    for number, word in enumerate(words, 1):
        if word not in WORDS:
            near = difflib.get_close_matches(word, WORDS, n=1)
            hint = f"; did you mean “{near[0]}”?" if near else ""
            raise _mistyped(f"Word {number}, “{word[:20]}”, is no word of a recovery key{hint}")
        read.append(WORDS.index(word))
    if len(read) != WORD_COUNT:
        raise _mistyped(f"A recovery key has {WORD_COUNT} words; these are {len(read)}.")
    bits = bytes(read[:BITS_BYTES])
    if _check(bits) != read[BITS_BYTES:]:
        raise _mistyped(
            "These words do not belong together: one is another than on the paper, or two are "
            "in each other's place."
        )
    derive = HKDF(algorithm=hashes.SHA256(), length=32, salt=None, info=_KEY_INFO)
    return X25519PrivateKey.from_private_bytes(derive.derive(bits))


def public_text(key: X25519PrivateKey) -> str:
    """Return the public half [32 bytes, base64url], which the server keeps."""
    return signing.to_base64url(key.public_key().public_bytes_raw())


def seal(public: str, content: bytes, *, about: str) -> bytes:
    """Seal ``content`` so that only the recovery key opens it; ``about`` must be said again."""
    key = X25519PublicKey.from_public_bytes(signing.from_base64url(public))
    return _SUITE.encrypt(content, key, info=_SEAL_INFO + about.encode())


def unseal(key: X25519PrivateKey, sealed: bytes, *, about: str) -> bytes:
    """Open what :func:`seal` made.

    Raises ``BadInput`` "recovery_key_wrong" for another key, or where what was sealed was changed.
    """
    try:
        return _SUITE.decrypt(sealed, key, info=_SEAL_INFO + about.encode())
    except (InvalidTag, ValueError) as problem:
        raise BadInput(
            "recovery_key_wrong", "This recovery key does not open the keys of this backup."
        ) from problem


def _check(bits: bytes) -> bytes:
    return hashlib.sha256(_KEY_INFO + bits).digest()[:CHECK_BYTES]


def _mistyped(words: str) -> BadInput:
    return BadInput("recovery_key_mistyped", words, field="recovery_key")
