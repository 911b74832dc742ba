"""From the two texts of an event to what they say, with every problem named, never a guess.

Nothing here raises for a bad event: a bad event is kept and put aside with its reason, so the
reason is what the caller needs.
"""

import json
import re
from dataclasses import dataclass, field
from math import isfinite

from api.clock import parse_rfc3339
from api.events import catalogue, chain

BODY_KEYS = (
    "v",
    "event_id",
    "tablet_id",
    "tablet_seq",
    "location_id",
    "actor_id",
    "type",
    "entity_id",
    "base_version",
    "corrects",
    "occurred_at",
    "zone",
    "clock_offset_ms",
    "app_build",
    "engine_version",
    "payload_hash",
)
LARGEST_EVENT_BYTES = 64 * 1024
_IDENT = re.compile(r"[A-Za-z0-9._:-]{1,64}")
_HASH = re.compile(r"[0-9a-f]{64}")
_DEEPEST = 20
_NOT_STORED = re.compile("[\0\ud800-\udfff]")


@dataclass(frozen=True)
class Parsed:
    """An event as read. ``reason`` is None when nothing is wrong, else a stable code."""

    body: dict | None
    payload: dict | None
    reason: str | None = None
    errors: dict[str, list[str]] = field(default_factory=dict)


class Unreadable(ValueError):
    """The text is not the one JSON object that it should be."""


def read_object(text: str) -> dict:
    """Read one JSON object.

    Raises ``Unreadable`` for anything else, for a name given twice (two readers could then
    see different things), for NaN and infinities, for characters that no database stores (half
    a surrogate pair, NUL), and for nesting deeper than 20.
    """
    try:
        value = _STRICT.decode(text)
    except (ValueError, RecursionError) as problem:
        raise Unreadable(str(problem)) from problem
    if not isinstance(value, dict):
        raise Unreadable("not an object")
    # Few texts have as many brackets at all as may stand in one another.
    if text.count("{") + text.count("[") > _DEEPEST:
        _check_depth(value, 0)
    # Such a character stands in the text itself, or behind an escape, which few texts have.
    if _is_unstorable(text) or ("\\u" in text and _has_unstorable(value)):
        raise Unreadable("a character that cannot be stored")
    return value


def parse_event(*, body: str, payload: str, salt: bytes) -> Parsed:
    """Read an event's body and payload and say what, if anything, is wrong with them."""
    if len(body.encode("utf-8")) + len(payload.encode("utf-8")) > LARGEST_EVENT_BYTES:
        return Parsed(None, None, "too_large")
    try:
        read_body = read_object(body)
    except Unreadable as problem:
        return Parsed(None, None, "unreadable", {"body": [str(problem)]})
    if read_body.get("v") != catalogue.EVENT_VERSION:
        return Parsed(read_body, None, "unknown_version")
    errors = body_problems(read_body)
    if errors:
        return Parsed(read_body, None, "schema", errors)
    if chain.payload_hash(salt=salt, payload=payload) != read_body["payload_hash"]:
        return Parsed(read_body, None, "payload_hash")
    event_type = catalogue.EVENT_TYPES.get(read_body["type"])
    if event_type is None:
        return Parsed(read_body, None, "unknown_type")
    try:
        read_payload = read_object(payload)
    except Unreadable as problem:
        return Parsed(read_body, None, "unreadable", {"payload": [str(problem)]})
    errors = catalogue.payload_problems(event_type.name, read_payload)
    if event_type.needs_corrects and read_body["corrects"] is None:
        errors.setdefault("corrects", []).append("Must name the event that this one is about.")
    if event_type.versioned and read_payload.get("version") != (read_body["base_version"] or 0) + 1:
        # A number that comes twice would let two contents pass for one version.
        errors.setdefault("version", []).append("Must be one more than base_version.")
    if errors:
        return Parsed(read_body, read_payload, "schema", errors)
    return Parsed(read_body, read_payload)


def body_problems(body: dict) -> dict[str, list[str]]:
    """Return what is wrong with a body of version 1, by key."""
    found: dict[str, list[str]] = {}

    def bad(key: str, text: str) -> None:
        found.setdefault(key, []).append(text)

    for key in BODY_KEYS:
        if key not in body:
            bad(key, "Missing.")
    for key in body.keys() - set(BODY_KEYS):
        bad(key, "Unknown key.")
    if found:
        return found
    for key in ("event_id", "tablet_id", "location_id", "type", "entity_id"):
        if not _is_ident(body[key]):
            bad(key, "Must be an identifier.")
    for key in ("actor_id", "corrects"):
        if body[key] is not None and not _is_ident(body[key]):
            bad(key, "Must be an identifier or null.")
    if not _is_whole(body["tablet_seq"]) or body["tablet_seq"] < 1:
        bad("tablet_seq", "Must be a whole number from 1.")
    for key in ("base_version", "clock_offset_ms"):
        if body[key] is not None and not _is_whole(body[key]):
            bad(key, "Must be a whole number or null.")
    for key in ("zone", "app_build", "engine_version"):
        if not isinstance(body[key], str) or not 0 < len(body[key]) <= 64:
            bad(key, "Must be a short text.")
    if not isinstance(body["payload_hash"], str) or not _HASH.fullmatch(body["payload_hash"]):
        bad("payload_hash", "Must be a SHA-256 in lower-case hex.")
    try:
        parse_rfc3339(body["occurred_at"])
    except (ValueError, TypeError):
        bad("occurred_at", "Must be an RFC 3339 time with its offset.")
    return found


def _is_ident(value: object) -> bool:
    return isinstance(value, str) and _IDENT.fullmatch(value) is not None


def _is_whole(value: object) -> bool:
    return isinstance(value, int) and not isinstance(value, bool) and abs(value) < 2**53


def _unique(pairs: list[tuple[str, object]]) -> dict:
    found = dict(pairs)
    if len(found) != len(pairs):
        raise ValueError("a name stands twice in one object")
    return found


def _no_constant(name: str) -> object:
    raise ValueError(f"{name} is not JSON")


def _finite(text: str) -> float:
    value = float(text)
    if not isfinite(value):
        raise ValueError(f"{text} is beyond what a number can be")
    return value


# Made once: `json.loads` makes one for each text that is read by these rules.
_STRICT = json.JSONDecoder(
    object_pairs_hook=_unique, parse_constant=_no_constant, parse_float=_finite
)


def _check_depth(value: dict | list, depth: int) -> None:
    if value and depth == _DEEPEST:
        raise Unreadable("nested too deeply")
    for inner in value.values() if isinstance(value, dict) else value:
        if isinstance(inner, (dict, list)):
            _check_depth(inner, depth + 1)


def _has_unstorable(value: object) -> bool:
    if isinstance(value, dict):
        return any(_has_unstorable(key) or _has_unstorable(each) for key, each in value.items())
    if isinstance(value, list):
        return any(map(_has_unstorable, value))
    return isinstance(value, str) and _is_unstorable(value)


def _is_unstorable(text: str) -> bool:
    # Of plain ASCII, as nearly all is, only one character is in question.
    return "\0" in text if text.isascii() else _NOT_STORED.search(text) is not None
