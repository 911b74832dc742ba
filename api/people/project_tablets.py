"""What became of a tablet after its enrolment, in its document."""

from collections.abc import Mapping
from typing import Any

from api.storage import documents

EVENT_TYPES = ("tablet.renamed", "tablet.revoked")


def project(connection: Any, entry: Mapping[str, Any]) -> None:
    """Put a new name, or that a tablet was shut out, into its document."""
    body, payload = entry["body"], entry["payload"] or {}
    tablet_id, location_id = body["entity_id"], entry["location_id"]
    known = documents.get(connection, location_id, "tablet", tablet_id) or {"tablet_id": tablet_id}
    documents.put(
        connection,
        location_id,
        "tablet",
        tablet_id,
        {**known, "event_id": body["event_id"], **_change(body, payload)},
        position=entry["position"],
    )


def _change(body: Mapping[str, Any], payload: Mapping[str, Any]) -> dict[str, Any]:
    if body["type"] == "tablet.renamed":
        return {"label": payload.get("label")}
    return {
        "status": "revoked",
        "revoked_at": body["occurred_at"],
        "revoked_by": body["actor_id"],
        "revoked_because": payload.get("reason"),
    }
