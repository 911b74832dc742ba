"""Enrolment certificates: what the server signed of a tablet, to know it again if it forgot."""

import json
from collections.abc import Mapping
from datetime import datetime

from api.clock import rfc3339
from api.errors import BadInput
from api.events import parse, signing

_NAMES = ("tablet_id", "location_id", "public_key", "issued_at")
# The first of the enrolments that a tablet goes on from, where it has had several.
_FIRST = "first_id"


def issue(
    server_key: signing.PrivateKey,
    *,
    tablet_id: str,
    location_id: str,
    public_key: str,
    now: datetime,
    first_id: str | None = None,
) -> dict[str, str]:
    """Return the certificate ``{"text", "signature"}`` of a tablet."""
    said = dict(zip(_NAMES, (tablet_id, location_id, public_key, rfc3339(now)), strict=True))
    if first_id is not None:
        said[_FIRST] = first_id
    text = json.dumps(said, separators=(",", ":"))
    return {"text": text, "signature": signing.sign(server_key, text)}


def read(server_key: signing.PrivateKey, certificate: Mapping[str, str]) -> dict[str, str] | None:
    """Return what a certificate says, or None where this server's key did not sign it."""
    text, signature = certificate["text"], certificate["signature"]
    if not signing.verify(signing.public_key_text(server_key), text, signature):
        return None
    try:
        said = parse.read_object(text)
        # The same key signs the log's heads and the events of desks, which say other things.
        if set(said) - {_FIRST} != set(_NAMES) or not all(
            isinstance(value, str) for value in said.values()
        ):
            return None
        signing.load_public_key(said["public_key"])
    except (parse.Unreadable, BadInput):
        return None
    return said


def first_id(certificate: str | None, tablet_id: str) -> str:
    """Return the id under which a tablet was enrolled first, by its own stored certificate."""
    said = json.loads(json.loads(certificate)["text"]) if certificate else {}
    return said.get(_FIRST, tablet_id)
