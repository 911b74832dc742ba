"""The rooms where a laser is used: their plans, and who has to wear eyewear up to where."""

from collections.abc import Mapping
from typing import Any

from api.dose.hazard import evaluate
from api.errors import BadInput
from api.storage import documents

# As exact as two ways to write down the same number are.
_SAME = 1e-9

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
        said["differing"] = differing(said)
        # One decision for each laser: the one before it is in the log.
        others = [one for one in known["zones"] if one["device_id"] != said.get("device_id")]
        changed = {**known, "zones": [*others, said]}
    documents.put(
        connection, entry["location_id"], "room", room_id, changed, position=entry["position"]
    )


def differing(zone: Mapping[str, Any]) -> list[str]:
    """Return the results of a decision that its own request does not give, by name; sorted.

    Worked out again from what the decision itself carries, as a dose is; ``request`` stands for
    all of them where it cannot be evaluated.
    """
    try:
        results = evaluate.respond(zone["request"])["results"]
    except (BadInput, KeyError):
        return ["request"]
    ours = {name: result["value"] for name, result in results.items()}
    return sorted(
        name for name, text in zone.get("results", {}).items() if not _says(text, ours.get(name))
    )


def _says(text: object, value: object) -> bool:
    """Say whether a text such as "1000 W/m2" or "3B" states a value."""
    first = str(text).split(" ")[0]
    if not isinstance(value, int | float):
        return first == value
    try:
        return abs(float(first) - value) <= _SAME * abs(value)
    except ValueError:
        return False
