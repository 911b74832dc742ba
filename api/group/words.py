"""The texts that practice and group sign for each other, and a code that names a key. Pure.

A practice signs each request with its server's key, a group signs what it has taken in with its
own. Both are the keys that sign the logs' heads; the first word of each text keeps one kind of
text from passing for another.
"""

import base64
import hashlib
import json
from collections.abc import Mapping

from api.events import build, parse, signing

REQUEST = "dosebook-practice-request-1"
_CODE_SIGNS = 10
# 80 bits of a hash: too many to find another key for.
_KEY_SIGNS = 16
_SIGNS = str.maketrans("ABCDEFGHIJKLMNOPQRSTUVWXYZ234567", "0123456789ABCDEFGHJKMNPQRSTVWXYZ")


def request_text(*, path: str, at: str, body: bytes, group_key: str) -> str:
    """Return what a practice signs of a request: where it goes, when, with what, and to whom.

    ``at`` is the group's own time, so that a clock that is wrong keeps nobody out.
    """
    return "\n".join((REQUEST, path, at, hashlib.sha256(body).hexdigest(), group_key))


def say(key: signing.PrivateKey, kind: str, **said: object) -> dict[str, str]:
    """Return {text, signature}: a statement of one ``kind``."""
    text = build.to_text({"kind": f"dosebook-group-{kind}-1", **said})
    return {"text": text, "signature": signing.sign(key, text)}


def read(public_key: str, kind: str, statement: object) -> dict | None:
    """Return what a statement says, or None unless it is one of ``kind`` signed by this key."""
    if not isinstance(statement, Mapping):
        return None
    text, signature = statement.get("text"), statement.get("signature")
    if not isinstance(text, str) or not isinstance(signature, str):
        return None
    if not signing.verify(public_key, text, signature):
        return None
    try:
        said = parse.read_object(text)
    except parse.Unreadable:
        return None
    return said if said.get("kind") == f"dosebook-group-{kind}-1" else None


def fingerprint(public_key: str) -> str:
    """Return the first 80 bits of a key's hash, to be compared by people: four groups of four."""
    digest = hashlib.sha256(public_key.encode("ascii")).digest()[: _KEY_SIGNS * 5 // 8]
    signs = base64.b32encode(digest).decode("ascii").translate(_SIGNS)
    return "-".join(signs[at : at + 4] for at in range(0, _KEY_SIGNS, 4))


def code_text(secret: str, public_key: str) -> str:
    """Return the code that a group hands out: a secret, and by which key the group is known."""
    return f"{secret}-{fingerprint(public_key)}"


def read_code(plain: str) -> tuple[str, str] | None:
    """Split a typed code, its gaps taken out, into the secret and the key's fingerprint."""
    if len(plain) != _CODE_SIGNS + _KEY_SIGNS:
        return None
    key = plain[_CODE_SIGNS:]
    return plain[:_CODE_SIGNS], "-".join(key[at : at + 4] for at in range(0, _KEY_SIGNS, 4))


def to_bytes(body: Mapping) -> bytes:
    """Return a request's body as it is sent and signed."""
    return json.dumps(body, ensure_ascii=False, separators=(",", ":")).encode("utf-8")
