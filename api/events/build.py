"""Make an event: its two texts once, the hash of one in the other, and a signature over both.

Used by the location's desk writer and by every client written in Python. The tablet's program
does the same in its own language; the texts need not be spelled alike, because nobody writes
them a second time.
"""

import json
import os
from collections.abc import Callable, Mapping
from datetime import datetime

from api.clock import rfc3339
from api.errors import BadInput
from api.events import catalogue, chain, parse, signing

SALT_BYTES = 16


def to_text(value: Mapping) -> str:
    """Write a JSON object on one line."""
    return json.dumps(value, ensure_ascii=False, separators=(",", ":"), allow_nan=False)


def build_item(
    private_key: signing.PrivateKey,
    *,
    event_id: str,
    tablet_id: str,
    tablet_seq: int,
    location_id: str,
    actor_id: str | None,
    type: str,
    entity_id: str,
    payload: Mapping,
    occurred_at: datetime,
    zone: str,
    app_build: str,
    engine_version: str,
    base_version: int | None = None,
    corrects: str | None = None,
    clock_offset_ms: int | None = None,
    random: Callable[[int], bytes] = os.urandom,
) -> dict:
    """Return the event as it goes on the wire: ids, body, payload, salt in hex, signature.

    ``occurred_at`` is written with the offset it carries. Raises ``BadInput`` with the problems
    by field when the payload does not fit its type or the event is too large: what is refused
    here is never shown as saved.
    """
    if type not in catalogue.EVENT_TYPES:
        raise BadInput("unknown_type", f"there is no event of type {type!r}", field="type")
    payload_text = to_text(payload)
    salt = random(SALT_BYTES)
    body_text = to_text(
        {
            "v": catalogue.EVENT_VERSION,
            "event_id": event_id,
            "tablet_id": tablet_id,
            "tablet_seq": tablet_seq,
            "location_id": location_id,
            "actor_id": actor_id,
            "type": type,
            "entity_id": entity_id,
            "base_version": base_version,
            "corrects": corrects,
            "occurred_at": rfc3339(occurred_at),
            "zone": zone,
            "clock_offset_ms": clock_offset_ms,
            "app_build": app_build,
            "engine_version": engine_version,
            "payload_hash": chain.payload_hash(salt=salt, payload=payload_text),
        }
    )
    parsed = parse.parse_event(body=body_text, payload=payload_text, salt=salt)
    if parsed.reason is not None:
        raise BadInput(
            f"event_{parsed.reason}",
            f"the event of type {type} cannot be made",
            errors=parsed.errors,
        )
    return {
        "event_id": event_id,
        "tablet_seq": tablet_seq,
        "body": body_text,
        "payload": payload_text,
        "salt": salt.hex(),
        "signature": signing.sign(private_key, body_text),
    }
