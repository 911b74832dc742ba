"""What a practice decides about a location after it was opened, in its document."""

from collections.abc import Mapping
from typing import Any

from api.storage import documents

EVENT_TYPES = ("location.offline_limit_set",)


def project(connection: Any, entry: Mapping[str, Any]) -> None:
    """Put for how many days a tablet may show earlier patients without the server."""
    body, location_id = entry["body"], entry["location_id"]
    known = documents.get(connection, location_id, "location", body["entity_id"])
    if known is None:
        return
    documents.put(
        connection,
        location_id,
        "location",
        body["entity_id"],
        {**known, **(entry["payload"] or {}), "event_id": body["event_id"]},
        position=entry["position"],
    )
