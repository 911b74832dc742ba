"""An entry of a log on its way between practice and group, in either direction. Pure.

Its texts are those that are stored. Hashes, columns and the link are worked out anew where it
arrives, so that nothing has to be believed of it.
"""

import base64
import json
from collections.abc import Iterator, Mapping, Sequence

from api.errors import BadInput
from api.events import chain, parse

MOST_ENTRIES = 200
# Of texts; as JSON a request then stays well below the server's limit of a mebibyte.
MOST_BYTES = 300_000
_NAMES = ("event_id", "tablet_id", "tablet_seq", "header", "body", "salt", "payload")


class Damaged(Exception):
    """An entry is not what its log says of it; ``reason`` is a code of ``audit.verify``."""

    def __init__(self, position: int, reason: str) -> None:
        super().__init__(f"entry {position}: {reason}")
        self.position = position
        self.reason = reason


def to_wire(stored: Mapping) -> dict:
    """Return a stored row as it is sent; a payload that was erased is null."""
    salt = stored["salt"]
    return {
        **{name: stored[name] for name in ("event_id", "tablet_id", "tablet_seq")},
        "header": stored["header"],
        "body": stored["body"],
        "salt": None if salt is None else base64.b64encode(salt).decode("ascii"),
        "payload": stored["payload"],
    }


def fitting(rows: Sequence[Mapping]) -> list[Mapping]:
    """Return as many of ``rows`` from the first on as go into one request, at least one."""
    taken: list[Mapping] = []
    size = 0
    for row in rows[:MOST_ENTRIES]:
        size += sum(len((row[name] or "").encode()) for name in ("header", "body", "payload"))
        if taken and size > MOST_BYTES:
            break
        taken.append(row)
    return taken


def from_wire(
    entries: Sequence[object], *, location_id: str, after: int, previous: bytes
) -> Iterator[dict]:
    """Yield rows to be stored, each with the link that it has after the ones before it.

    ``location_id`` is the location's own. Raises ``BadInput`` for what is no entry, and
    :class:`Damaged` "position", "header" where a header is not the next one of this log.
    """
    link = previous
    for position, sent in enumerate(entries, after + 1):
        entry = _read(sent)
        header = _header(entry["header"], location_id=location_id, position=position)
        header_hash, body_hash = chain.sha256(entry["header"]), chain.sha256(entry["body"])
        link = chain.link(previous=link, header_hash=header_hash, body_hash=body_hash)
        # Of an event whose payload was erased, what its body says is all there is.
        salt = entry["salt"] or bytes(16)
        parsed = parse.parse_event(body=entry["body"], payload=entry["payload"] or "", salt=salt)
        yield {
            "position": position,
            **{name: entry[name] for name in ("event_id", "tablet_id", "tablet_seq")},
            **{name: header[name] for name in ("epoch", "received_at", "verdict", "reason")},
            "signature": header["signature"],
            **columns(parsed.body),
            "header": entry["header"],
            "body": entry["body"],
            "salt": entry["salt"],
            "payload": entry["payload"],
            "header_hash": header_hash,
            "body_hash": body_hash,
            "link": link,
        }


def columns(body: dict | None) -> dict[str, str | None]:
    """Return what of a body stands in columns of its own, as where it was first stored."""
    names = ("type", "entity_id", "actor_id", "corrects")
    said = body or {}
    return {name: said.get(name) if isinstance(said.get(name), str) else None for name in names}


def _read(sent: object) -> dict:
    if not isinstance(sent, Mapping) or set(sent) != set(_NAMES):
        raise BadInput("entry_unreadable", "An entry has other parts.", field="entries")
    texts = all(isinstance(sent[name], str) for name in ("event_id", "tablet_id", "header", "body"))
    erased = sent["payload"] is None
    if not texts or not (erased or isinstance(sent["payload"], str)):
        raise BadInput("entry_unreadable", "An entry's texts must be texts.", field="entries")
    number = sent["tablet_seq"]
    if isinstance(number, bool) or not isinstance(number, int) or abs(number) >= 2**63:
        raise BadInput("entry_unreadable", "A number is missing.", field="entries")
    try:
        salt = None if erased else base64.b64decode(sent["salt"] or "", validate=True)
    except (ValueError, TypeError):
        raise BadInput("entry_unreadable", "A salt cannot be read.", field="entries") from None
    if salt is not None and len(salt) != 16:
        raise BadInput("entry_unreadable", "A salt has 16 bytes.", field="entries")
    return {**sent, "salt": salt}


def _header(text: str, *, location_id: str, position: int) -> dict:
    try:
        header = json.loads(text)
        texts = ("epoch", "location_id", "received_at", "verdict", "signature")
        right = all(isinstance(header[name], str) for name in texts)
        right = right and isinstance(header["reason"], str | None)
    except (ValueError, KeyError, TypeError):
        raise Damaged(position, "header") from None
    if not right or header["location_id"] != location_id:
        raise Damaged(position, "header")
    if header["position"] != position:
        raise Damaged(position, "position")
    return header
