"""The rooms where a laser is used: their plans, and who has to wear eyewear up to where."""

from collections.abc import Mapping
from typing import Any

from api.storage import documents

EVENT_TYPES = ("room.drawn", "zone.decided")


def project(connection: Any, entry: Mapping[str, Any]) -> None:
    """Put what an entry says about a room into its document.

    A plan replaces the one before; a decision about the zone stands beside it, and stays when the
    plan is drawn anew, with the time that says so.
    """
    body = entry["body"]
    room_id = body["entity_id"]
    known = documents.get(connection, entry["location_id"], "room", room_id) or {
        "room_id": room_id,
        "plan": None,
        "zones": [],
    }
    said = {
        **(entry["payload"] or {}),
        "event_id": body["event_id"],
        "at": body["occurred_at"],
        "by": body["actor_id"],
    }
    if body["type"] == "room.drawn":
        changed = {**known, "plan": said}
    else:
        # One decision for each laser: the one before it is in the log.
        others = [one for one in known["zones"] if one["device_id"] != said.get("device_id")]
        changed = {**known, "zones": [*others, said]}
    documents.put(
        connection, entry["location_id"], "room", room_id, changed, position=entry["position"]
    )
