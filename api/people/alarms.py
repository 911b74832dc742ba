"""Alarms of witnesses: a tablet whose own reckoning of the log is not the server's."""

from collections.abc import Mapping
from typing import Any

from api.storage import documents
from api.storage.engine import Connection

KIND = "witness_alarm"
RAISED, ANSWERED = "witness.alarmed", "witness.answered"
EVENT_TYPES = (RAISED, ANSWERED)


def project(connection: Any, entry: Mapping[str, Any]) -> None:
    """Put an alarm, or what was found about it, into the alarm's document."""
    body, location_id = entry["body"], entry["location_id"]
    if body["type"] == RAISED:
        document = {
            **(entry["payload"] or {}),
            "alarm_id": body["entity_id"],
            "at": body["occurred_at"],
            "answered": None,
        }
    else:
        known = documents.get(connection, location_id, KIND, body["entity_id"])
        if known is None:
            return
        said = (entry["payload"] or {}).get("found_out")
        answer = {"by": body["actor_id"], "at": body["occurred_at"], "found_out": said}
        document = {**known, "answered": answer}
    documents.put(
        connection, location_id, KIND, body["entity_id"], document, position=entry["position"]
    )


def unanswered(connection: Connection, location_id: str, tablet_id: str) -> bool:
    """Return whether an alarm of this tablet waits for somebody to answer it."""
    return any(
        one["answered"] is None and one["tablet_id"] == tablet_id
        for one in documents.list(connection, location_id, KIND)
    )
