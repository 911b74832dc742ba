"""The words of push and pull: limits, the shape of a batch, the cursor, the outcomes."""

import json
from collections.abc import Mapping
from dataclasses import dataclass

from api.errors import BadInput
from api.events import signing
from api.settings import PROTOCOL_VERSION

MOST_ITEMS = 50
MOST_BATCH_BYTES = 256 * 1024
PAGE_LIMIT = 200
SALT_HEX_DIGITS = 32
_LONGEST_ID = 64
_LONGEST_SIGNATURE = 200

APPLIED = "applied"
DUPLICATE = "duplicate"
CONFLICT = "conflict"
QUARANTINED = "quarantined"
GAP = "gap"
ID_REUSE = "id_reuse"
FORK = "fork"
RETRY = "retry"


@dataclass(frozen=True)
class Item:
    """One event as it came."""

    event_id: str
    tablet_seq: int
    body: str
    payload: str
    salt: bytes
    signature: str


@dataclass(frozen=True)
class Batch:
    """A push as it came: the epoch the tablet believes in, and its events in order."""

    epoch: str
    items: list[Item]
    # How many entries the tablet holds that wait to be sent, these among them, if it said.
    waiting: int | None = None


def read_push(request: object) -> Batch:
    """Read a push request.

    Raises ``BadInput``: "protocol_unsupported" for another protocol, "batch_too_large" above 50
    events or 256 KiB (the tablet halves), "batch_unreadable" where an item has no place in the
    log because its ids or its texts are not there. What a text says is not looked at here.
    """
    if not isinstance(request, Mapping):
        raise BadInput("batch_unreadable", "a push is a JSON object")
    if request.get("protocol") != PROTOCOL_VERSION:
        raise BadInput(
            "protocol_unsupported",
            f"this server speaks protocol {PROTOCOL_VERSION}",
            field="protocol",
            protocol=PROTOCOL_VERSION,
        )
    epoch, items = request.get("epoch"), request.get("items")
    if not isinstance(epoch, str) or not isinstance(items, list):
        raise BadInput("batch_unreadable", "a push has an epoch and a list of items")
    if len(items) > MOST_ITEMS:
        raise BadInput("batch_too_large", f"a push has at most {MOST_ITEMS} events")
    errors: dict[str, list[str]] = {}
    read = [_read_item(item, f"items.{index}", errors) for index, item in enumerate(items)]
    if errors:
        raise BadInput("batch_unreadable", "an item has no place in the log", errors=errors)
    whole = [item for item in read if item is not None]
    size = sum(len(each.body.encode()) + len(each.payload.encode()) for each in whole)
    if size > MOST_BATCH_BYTES:
        raise BadInput("batch_too_large", "a push has at most 256 KiB")
    return Batch(epoch, whole, _count(request.get("waiting")))


def _count(value: object) -> int | None:
    # Only shown, so that what is no count is no reason to keep entries from coming in.
    fits = isinstance(value, int) and not isinstance(value, bool) and 0 <= value < 10**9
    return value if fits else None


def _read_item(item: object, path: str, errors: dict[str, list[str]]) -> Item | None:
    if not isinstance(item, Mapping):
        errors[path] = ["Must be an object."]
        return None
    before = len(errors)
    event_id, seq = item.get("event_id"), item.get("tablet_seq")
    if not isinstance(event_id, str) or not 0 < len(event_id) <= _LONGEST_ID:
        errors[f"{path}.event_id"] = ["Must be an identifier."]
    if isinstance(seq, bool) or not isinstance(seq, int) or not 0 < seq < 2**53:
        errors[f"{path}.tablet_seq"] = ["Must be a whole number from 1."]
    for name in ("event_id", "body", "payload", "signature"):
        if not _is_storable(item.get(name)):
            errors[f"{path}.{name}"] = ["Must be text."]
    signature = item.get("signature")
    if isinstance(signature, str) and len(signature) > _LONGEST_SIGNATURE:
        errors[f"{path}.signature"] = ["Too long."]
    salt = _read_salt(item.get("salt"))
    if salt is None:
        errors[f"{path}.salt"] = ["Must be 16 bytes in lower-case hex."]
    if len(errors) > before:
        return None
    return Item(event_id, seq, item["body"], item["payload"], salt, signature)


def _is_storable(value: object) -> bool:
    if not isinstance(value, str) or "\0" in value:
        return False
    try:
        value.encode("utf-8")
    except UnicodeEncodeError:
        return False
    return True


def _read_salt(value: object) -> bytes | None:
    if not isinstance(value, str) or len(value) != SALT_HEX_DIGITS or value != value.lower():
        return None
    try:
        salt = bytes.fromhex(value)
    except ValueError:
        return None
    return salt if salt.hex() == value else None


@dataclass(frozen=True)
class Cursor:
    """How far a feed of a location's log was read."""

    epoch: str
    location_id: str
    feed: str
    position: int


def write_cursor(cursor: Cursor) -> str:
    """Write a cursor as the opaque text that goes out."""
    parts = [cursor.epoch, cursor.location_id, cursor.feed, cursor.position]
    return signing.to_base64url(json.dumps(parts, separators=(",", ":")).encode())


def read_cursor(text: str) -> Cursor:
    """Read a cursor. Raises ``BadInput`` for a text this server never gave out."""
    try:
        epoch, location_id, feed, position = json.loads(signing.from_base64url(text))
    except (ValueError, TypeError, RecursionError):
        raise BadInput("cursor_unreadable", "this is not a cursor", field="cursor") from None
    texts = isinstance(epoch, str) and isinstance(location_id, str) and isinstance(feed, str)
    if not texts or isinstance(position, bool) or not isinstance(position, int) or position < 0:
        raise BadInput("cursor_unreadable", "this is not a cursor", field="cursor")
    return Cursor(epoch, location_id, feed, position)
