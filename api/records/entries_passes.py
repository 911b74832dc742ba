"""What passes and laser-on times do to a record. Pure."""

import math
import re
from collections.abc import Mapping
from typing import Any

from api.errors import BadInput
from api.records.doses import pass_dose
from api.records.order import Entry
from api.records.unfinished import Record, Unfinished, belongs_elsewhere, trace

_PASS_FIELDS = (
    "pass_id",
    "number",
    "settings",
    "preset",
    "changed_from_preset",
    "spot_known",
    "focus",
    "coolant",
    "distance",
)
# Some thirty years: no laser is on as long, and sums and energies of such times stay numbers, which
# JSON needs. This project's own choice.
_LONGEST_S = 1e9
_SECONDS = re.compile(r"([0-9]+(?:\.[0-9]+)?(?:[eE][+-]?[0-9]+)?) s")


def pass_started(draft: Unfinished, entry: Entry) -> bool:
    """Begin a pass; whatever was paused goes on with it."""
    payload, record = entry.event["payload"], draft.record
    if any(one["pass_id"] == payload["pass_id"] for one in record["passes"]):
        draft.flag("pass_repeated", "A second pass carries the id of an earlier one.", entry)
        return False
    if record["ended_at"] is not None:
        draft.flag("pass_after_end", "A pass was started after the procedure's end.", entry)
        draft.after_end.add(payload["pass_id"])
    handpiece = payload.get("handpiece")
    if belongs_elsewhere(handpiece, record["device"]):
        draft.flag(
            "handpiece_of_another_device", "The handpiece of a pass is another laser's.", entry
        )
    moment = trace(entry)
    end_pause(record, moment["at"])
    record["passes"].append(
        {
            **{name: payload.get(name) for name in _PASS_FIELDS},
            "operator_id": record["operator_id"],
            "handpiece": handpiece or record["handpiece"],
            "verification": _verification(payload, record),
            "started_at": moment["at"],
            "ended_at": None,
            "laser_on": [],
            "laser_on_s": 0.0,
            "sources": [],
            "dose": _dose(draft, entry),
            "total_energy_j": {"set": None, "delivered": None},
            "tablet_dose": payload.get("dose"),
            "event_id": moment["event_id"],
        }
    )
    return True


def end_pause(record: Record, at: str) -> bool:
    """End the pause that is open, if one is; say whether there was one."""
    paused = record["pauses"][-1] if record["pauses"] else None
    if paused is None or paused["to_at"] is not None:
        return False
    paused["to_at"] = at
    return True


def emitted(draft: Unfinished, entry: Entry) -> bool:
    """Add a laser-on time to its pass."""
    payload = entry.event["payload"]
    one = next(
        (one for one in draft.record["passes"] if one["pass_id"] == payload["pass_id"]), None
    )
    if one is None:
        draft.flag("emission_without_pass", "A laser-on time belongs to no pass.", entry)
        return False
    seconds = _seconds(payload["laser_on_time"])
    if seconds is None:
        draft.flag("laser_on_unreadable", "A laser-on time cannot be read.", entry)
        return False
    moment = trace(entry)
    one["laser_on"].append(
        {
            "seconds": seconds,
            "source": payload["source"],
            "pulses": payload.get("pulses"),
            "at": moment["at"],
            "event_id": moment["event_id"],
        }
    )
    return True


def close_passes(draft: Unfinished) -> None:
    """End each pass where the next one starts, or where the procedure ends if that comes first."""
    passes = draft.record["passes"]
    for place, one in enumerate(passes):
        following = passes[place + 1] if place + 1 < len(passes) else None
        if one["pass_id"] in draft.after_end:
            one["ended_at"] = following["started_at"] if following else None
        elif following is not None and following["pass_id"] not in draft.after_end:
            one["ended_at"] = following["started_at"]
        else:
            one["ended_at"] = draft.record["ended_at"]


def sum_emissions(record: Record) -> None:
    """Add up the laser-on times of each pass, and the energy they come to."""
    for one in record["passes"]:
        # Added one by one: newer versions of sum() compensate, and the tablet's addition does not.
        for part in one["laser_on"]:
            one["laser_on_s"] += part["seconds"]
        one["sources"] = sorted({part["source"] for part in one["laser_on"]})
        if one["laser_on"]:
            # Without any laser-on time the energy is unknown, which is not the same as none.
            one["total_energy_j"] = {
                "set": _energy_j(one["dose"]["set"], one["laser_on_s"]),
                "delivered": _energy_j(one["dose"]["delivered"], one["laser_on_s"]),
            }


def _verification(payload: Mapping[str, Any], record: Record) -> Mapping[str, Any] | None:
    if "verification" in payload:
        return payload["verification"]
    own = payload.get("handpiece") or record["handpiece"]
    same = (own or {}).get("handpiece_id") == (record["handpiece"] or {}).get("handpiece_id")
    # The check of one tip says nothing about another.
    return record["verification"] if same else None


def _dose(draft: Unfinished, entry: Entry) -> dict[str, Any]:
    try:
        return pass_dose(entry.event["payload"]["settings"])
    except BadInput:
        draft.flag("dose_not_computable", "The settings of a pass give no dose.", entry)
        return {"engine": None, "set": {}, "delivered": None, "basis": None, "absent": {}}


def _seconds(text: str) -> float | None:
    found = _SECONDS.fullmatch(text)
    seconds = float(found[1]) if found else math.inf
    return seconds if seconds <= _LONGEST_S else None


def _energy_j(values: Mapping[str, float] | None, seconds: float) -> float | None:
    power_w = (values or {}).get("average_power")
    return None if power_w is None else power_w * seconds
