"""Eyewear, keys, meters, inventories and due rules as documents; lasers and handpieces retired."""

from collections.abc import Mapping
from typing import Any

from api.registers import fold
from api.storage import certificates, documents

EVENT_TYPES = (
    "device.retired",
    "handpiece.retired",
    "eyewear.registered",
    "eyewear.inspected",
    "eyewear.retired",
    "key.registered",
    "key.moved",
    "key.retired",
    "meter.registered",
    "meter.calibrated",
    "meter.retired",
    "inventory.taken",
    "due_rule.set",
)


def project(connection: Any, entry: Mapping[str, Any]) -> None:
    """Put what an entry says about a thing into its document."""
    body = entry["body"]
    kind = body["type"].split(".")[0]
    location_id, doc_id = entry["location_id"], body["entity_id"]
    known = documents.get(connection, location_id, kind, doc_id)
    changed = fold.fold(known, body, entry["payload"] or {})
    documents.put(connection, location_id, kind, doc_id, changed, position=entry["position"])
    certificates.note_uses(connection, location_id, kind, doc_id, entry["payload"])
