"""What was used here before for one kind of procedure: medians and ranges of signed records. Pure.

It says what was done, and is no advice: nothing here is compared with a norm or turned into a
setting. The mirror on the tablet is ``pwa/src/session/usage.ts``; both are held to the same
vectors.
"""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from api.clock import parse_rfc3339

# Of the results of a dose, those that are looked back at; with laser-on time they are all.
DOSES = {"average_power": "W", "irradiance_mean": "W/cm2", "fluence_mean": "J/cm2"}
SIGNED = ("signed", "amended")
# With fewer records the single values say more than a middle between them (this project's own
# choice).
LEAST_RECORDS = 3


def median(values: Sequence[float]) -> float:
    """Return the middle one of the values in order, or the mean of the middle two.

    Raises ``ValueError`` without any.
    """
    if not values:
        raise ValueError("no median without a value")
    ordered = sorted(values)
    half = len(ordered) // 2
    if len(ordered) % 2:
        return ordered[half]
    return (ordered[half - 1] + ordered[half]) / 2


def usage(records: Iterable[Mapping[str, Any]], *, procedure_kind_id: str) -> dict[str, Any]:
    """Return what the signed records of one kind of procedure used, by laser and tip.

    ``records`` are record documents of any kind and status. Counted are passes of signed records
    that have laser-on time; what was withdrawn is no longer among a record's passes, and a void
    record is not signed. Returns ``{"procedure_kind_id", "records", "groups": [{"device_id",
    "device_label", "handpiece_id", "handpiece_label", "records", "passes", "first_at", "last_at",
    "set": {dose name: measure}, "delivered": {...}, "laser_on_time": measure}]}``, the most used
    first; ``first_at`` and ``last_at`` are when the first and the last of its passes began. A
    measure is ``{"unit", "records", "values", "median", "low", "high"}``: with fewer than three
    records ``values`` lists them and ``median`` is None, else the other way about. Doses are taken
    pass by pass; laser-on time [s] is that of all passes of a record with this laser and tip.
    """
    groups: dict[tuple[str, str], _Group] = {}
    counted = set()
    for record in records:
        if record.get("status") not in SIGNED:
            continue
        if (record.get("procedure") or {}).get("procedure_kind_id") != procedure_kind_id:
            continue
        for one in record["passes"]:
            tip = one.get("handpiece") or record.get("handpiece")
            device = record.get("device")
            if not one["laser_on_s"] > 0 or not tip or not device:
                continue
            key = (device["device_id"], tip["handpiece_id"])
            groups.setdefault(key, _Group(device, tip)).take(record["record_id"], one)
            counted.add(record["record_id"])
    shown = [group.shown() for group in groups.values()]
    shown.sort(key=lambda group: (-group["records"], group["device_id"], group["handpiece_id"]))
    return {"procedure_kind_id": procedure_kind_id, "records": len(counted), "groups": shown}


class _Group:
    """The passes with one laser and one tip."""

    def __init__(self, device: Mapping[str, Any], tip: Mapping[str, Any]) -> None:
        self.device, self.tip = device, tip
        self.passes: list[tuple[str, Mapping[str, Any]]] = []

    def take(self, record_id: str, one: Mapping[str, Any]) -> None:
        self.passes.append((record_id, one))

    def shown(self) -> dict[str, Any]:
        on_time: dict[str, float] = {}
        for record_id, one in self.passes:
            on_time[record_id] = on_time.get(record_id, 0.0) + one["laser_on_s"]
        began = sorted((one["started_at"] for _, one in self.passes), key=parse_rfc3339)
        return {
            "device_id": self.device["device_id"],
            "device_label": self.device.get("label"),
            "handpiece_id": self.tip["handpiece_id"],
            "handpiece_label": self.tip.get("label"),
            "records": len(on_time),
            "passes": len(self.passes),
            "first_at": began[0],
            "last_at": began[-1],
            "set": self._doses("set"),
            "delivered": self._doses("delivered"),
            "laser_on_time": _measure("s", list(on_time.items())),
        }

    def _doses(self, side: str) -> dict[str, Any]:
        found = {}
        for name, unit in DOSES.items():
            values = [
                (record_id, value)
                for record_id, one in self.passes
                if (value := (one["dose"].get(side) or {}).get(name)) is not None
            ]
            if values:
                found[name] = _measure(unit, values)
        return found


def _measure(unit: str, values: Sequence[tuple[str, float]]) -> dict[str, Any]:
    numbers = sorted(value for _, value in values)
    records = len({record_id for record_id, _ in values})
    few = records < LEAST_RECORDS
    return {
        "unit": unit,
        "records": records,
        "values": numbers if few else None,
        "median": None if few else median(numbers),
        "low": numbers[0],
        "high": numbers[-1],
    }
