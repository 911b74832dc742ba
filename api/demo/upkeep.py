"""What the fixtures say of the registers and of maintenance, in the words of its entries. Pure."""

from collections.abc import Mapping
from datetime import date, timedelta
from typing import Any

_OF_THE_HOUSE = {"devices": "device", "handpieces": "handpiece"}
# Which names of a fixture stand for the id of what they name.
_NAMED = {"device": "device_id", "released_by": "released_by", "holder": "holder_id"}


def said(
    noted: Mapping[str, Any], *, day: date, ids: Mapping[str, str], house: Mapping[str, Any]
) -> dict[str, Any]:
    """Return the payload of what was noted on ``day``.

    Days stand in a fixture as ``<name>_days_ago`` or ``<name>_days_ahead`` of that day, things and
    people by their keys; an inventory says only what was ``not_seen`` of all that there is.
    """
    payload: dict[str, Any] = {}
    for name, value in noted.items():
        what, _, when = name.partition("_days_")
        if when in ("ago", "ahead"):
            days = value if when == "ahead" else -value
            payload[f"{what}_on"] = (day + timedelta(days=days)).isoformat()
        elif name == "not_seen":
            payload["items"] = _counted(house, ids, value)
        else:
            payload[_NAMED.get(name, name)] = ids[value] if name in _NAMED else value
    return payload


def _counted(
    house: Mapping[str, Any], ids: Mapping[str, str], not_seen: list[str]
) -> list[dict[str, Any]]:
    """Return one line for each thing of the registers, in the order in which they came in."""
    rooms = {one["room_id"]: one["name"] for one in house["location"]["rooms"]}
    things = [(kind, one) for name, kind in _OF_THE_HOUSE.items() for one in house[name]]
    things += [(one["type"].partition(".")[0], one) for one in house["registers"]]
    return [
        {
            "kind": kind,
            "subject_id": ids[one["key"]],
            "label": one["label"],
            "where": rooms.get(one.get("room_id")) or one.get("kept_at"),
            "state": None,
            "seen": one["key"] not in not_seen,
        }
        for kind, one in things
    ]
