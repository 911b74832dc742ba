"""What a practice decides about a location after it was opened, in its document."""

from collections.abc import Mapping
from typing import Any

from api.storage import documents

RESTORED = "log.restored"
EVENT_TYPES = ("location.offline_limit_set", RESTORED)


def project(connection: Any, entry: Mapping[str, Any]) -> None:
    """Put what was decided into the document; of restores, when the last one was and why."""
    body, location_id = entry["body"], entry["location_id"]
    change = entry["payload"] or {}
    if body["type"] == RESTORED:
        change = {"restored": {**change, "at": body["occurred_at"]}}
    known = documents.get(connection, location_id, "location", body["entity_id"])
    if known is None:
        return
    documents.put(
        connection,
        location_id,
        "location",
        body["entity_id"],
        {**known, **change, "event_id": body["event_id"]},
        position=entry["position"],
    )
