"""Emergency access: whoever lacks a right opens it for a short time, with a reason, and is seen."""

from collections.abc import Iterator, Mapping
from datetime import datetime, timedelta
from typing import Any

from api.clock import parse_rfc3339
from api.storage import documents
from api.storage.engine import Connection

# This project's own choice.
LIFE = timedelta(hours=1)
# What can be opened: a patient's records, and recording; never signing, settings or people.
READ = ("record.read",)
WRITE = ("record.read", "record.write")
KIND = "emergency"
EVENT_TYPES = ("emergency.opened", "emergency.acknowledged")


def project(connection: Any, entry: Mapping[str, Any]) -> None:
    """Put an opening, or that somebody has seen it, into the emergency's document."""
    body, location_id = entry["body"], entry["location_id"]
    if body["type"] == "emergency.opened":
        document = {
            **(entry["payload"] or {}),
            "emergency_id": body["entity_id"],
            "opened_at": body["occurred_at"],
            "acknowledged": [],
            "event_id": body["event_id"],
        }
    else:
        known = documents.get(connection, location_id, KIND, body["entity_id"])
        if known is None:
            return
        seen = {"by": body["actor_id"], "at": body["occurred_at"]}
        document = {**known, "acknowledged": [*known["acknowledged"], seen]}
    documents.put(
        connection, location_id, KIND, body["entity_id"], document, position=entry["position"]
    )


def open_now(
    connection: Connection, location_id: str, person_id: str | None, now: datetime
) -> Iterator[dict[str, Any]]:
    """Yield what this person has opened in an emergency and is still open."""
    for one in documents.list(connection, location_id, KIND):
        if one["person_id"] != person_id:
            continue
        if parse_rfc3339(one["opened_at"]) <= now < parse_rfc3339(one["until"]):
            yield one


def guest(
    connection: Connection, location_id: str, person_id: str, now: datetime
) -> dict[str, Any] | None:
    """Return who somebody is at a location where they do not work, while an emergency is open.

    A person without roles; None once it is over. What they may do there is what it opened.
    """
    for one in open_now(connection, location_id, person_id, now):
        if one.get("display_name") is not None:
            return {
                "person_id": person_id,
                "display_name": one["display_name"],
                "initials": one["initials"],
                "roles": [],
            }
    return None


def called(connection: Connection, location_id: str, person_id: str) -> dict[str, Any]:
    """Return what a guest said of themselves, also once the emergency is over; else nothing."""
    for one in documents.list(connection, location_id, KIND):
        if one["person_id"] == person_id and one.get("display_name") is not None:
            return one
    return {}


def allows(
    connection: Connection, location_id: str, person_id: str | None, right: str, now: datetime
) -> bool:
    """Return whether an emergency that is open gives this person this right."""
    return any(right in one["rights"] for one in open_now(connection, location_id, person_id, now))
