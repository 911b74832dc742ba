"""The chain of a location's log: each entry's link covers everything before it."""

import hashlib

LINK_PREFIX = b"dosebook-link-1"
FIRST_LINK = bytes(32)


def sha256(text: str) -> bytes:
    """Return the SHA-256 of ``text`` in UTF-8 [32 bytes]."""
    return hashlib.sha256(text.encode("utf-8")).digest()


def link(*, previous: bytes, header_hash: bytes, body_hash: bytes) -> bytes:
    """Return the link of an entry [32 bytes] from the link before it and its two hashes.

    The three parts have a fixed length, so that no two entries can give the same input.
    """
    for part in (previous, header_hash, body_hash):
        if len(part) != 32:
            raise ValueError("a link is made of hashes of 32 bytes")
    return hashlib.sha256(LINK_PREFIX + previous + header_hash + body_hash).digest()


def payload_hash(*, salt: bytes, payload: str) -> str:
    """Return the hash that an event's body carries of its payload [lower-case hex].

    The salt keeps a short payload from being guessed from its hash after it has been erased.
    """
    if len(salt) != 16:
        raise ValueError("a salt has 16 bytes")
    return hashlib.sha256(salt + payload.encode("utf-8")).hexdigest()
