"""Maintenance and incidents as documents."""

from collections.abc import Mapping
from typing import Any

from api.registers import upkeep
from api.storage import certificates, documents

EVENT_TYPES = (
    "maintenance.recorded",
    "maintenance.withdrawn",
    "incident.recorded",
    "incident.assessed",
    "incident.action_set",
    "incident.closed",
    "incident.reopened",
)
_FOLDS = {"maintenance": upkeep.maintenance, "incident": upkeep.incident}


def project(connection: Any, entry: Mapping[str, Any]) -> None:
    """Put what an entry says about a piece of work or an incident into its document."""
    body = entry["body"]
    kind = body["type"].split(".")[0]
    location_id, doc_id = entry["location_id"], body["entity_id"]
    known = documents.get(connection, location_id, kind, doc_id)
    changed = _FOLDS[kind](known, body, entry["payload"] or {})
    documents.put(connection, location_id, kind, doc_id, changed, position=entry["position"])
    certificates.note_uses(connection, location_id, kind, doc_id, entry["payload"])
