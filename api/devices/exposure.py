"""Which procedures a failed power verification, or a laser out of service, concerns. Pure.

A use of the laser (a pass; a record without one counts as one at its start) is exposed to a failed
verification F if F is the first of its tip and emission at or after the use, and no passed
verification lies between the two that agrees with F in whatever the use agrees with F in: the tip,
where it is the tip that failed, and the emission, where it is the emission that failed. So a fault
that the laser's output shares concerns all its tips, until another tip passed; a fault that may be
the tip's own concerns every use of that tip, until that tip passed.

The delivered power of such a use lay between the last passed ratio and the failed one. A ratio is
valid for its tip and emission only, so for other tips and emissions no numbers are said.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any

from api.clock import parse_rfc3339
from api.devices.service_state import passed, stood_at
from api.devices.verification import FAIL

OVERRIDDEN, NOT_OVERRIDDEN, NOT_KNOWN = "overridden", "not_overridden", "not_known"
_NOT_KNOWN_FLAG = "out_of_service_not_known"


@dataclass(frozen=True)
class _Use:
    """One use of a laser in a record; ``mode`` is None where none was recorded."""

    at: datetime
    handpiece_id: str | None
    mode: str | None
    number: int | None
    set_energy_j: float | None


def exposed(
    records: Iterable[Mapping[str, Any]],
    *,
    verifications: Iterable[Mapping[str, Any]],
    causes: Mapping[str, Sequence[Mapping[str, Any]]],
) -> list[dict[str, Any]]:
    """Return the exposed cases of one laser, by start.

    ``records`` and ``verifications`` are its documents, of one or more locations; ``causes`` by
    location what stands or stood against it (``device_service``). Each answer:
    ``{record_id, location_id, windows, service, causes, reasons}``, where a window is
    ``{failed, passed, same, passes, ratio_least, ratio_most, set_energy_j, least_energy_j,
    most_energy_j}`` and ``service`` is None or how it came that the laser was used out of service.
    """
    good = [_point(one) for one in verifications if passed(one)]
    bad = sorted(
        (_point(one) for one in verifications if one["verdict"] == FAIL),
        key=lambda one: (one["moment"], one["event_id"]),
    )
    found = []
    for record in records:
        if not record.get("started_at"):
            continue
        windows = _windows(_uses(record), good, bad)
        service, against = _service(record, causes)
        if windows or service:
            found.append(
                {
                    "record_id": record["record_id"],
                    "location_id": record["location_id"],
                    "windows": windows,
                    "service": service,
                    "causes": against,
                    "reasons": [one["reason"] for one in record.get("overrides") or ()],
                    "record": record,
                }
            )
    return sorted(
        found, key=lambda one: (parse_rfc3339(one["record"]["started_at"]), one["record_id"])
    )


def _point(verification: Mapping[str, Any]) -> dict[str, Any]:
    return {
        "event_id": verification["event_id"],
        "at": verification["verified_at"],
        "moment": parse_rfc3339(verification["verified_at"]),
        "handpiece_id": verification["handpiece_id"],
        "mode": verification["mode"],
        "ratio": verification["ratio"],
        "meter_uncertainty": verification["meter_uncertainty"],
    }


def _uses(record: Mapping[str, Any]) -> list[_Use]:
    own = (record.get("handpiece") or {}).get("handpiece_id")
    uses = []
    for one in record["passes"]:
        emission = one["settings"].get("emission")
        uses.append(
            _Use(
                parse_rfc3339(one["started_at"]),
                (one["handpiece"] or {}).get("handpiece_id", own),
                emission.get("mode") if isinstance(emission, Mapping) else None,
                one["number"],
                one["total_energy_j"]["set"],
            )
        )
    return uses or [_Use(parse_rfc3339(record["started_at"]), own, None, None, None)]


def _windows(
    uses: Sequence[_Use], good: Sequence[Mapping], bad: Sequence[Mapping]
) -> list[dict[str, Any]]:
    together: dict[tuple, dict[str, Any]] = {}
    for use in uses:
        first: dict[tuple, Mapping] = {}
        for failed in bad:
            if failed["moment"] >= use.at:
                first.setdefault((failed["handpiece_id"], failed["mode"]), failed)
        for failed in first.values():
            agreeing = [one for one in good if _agrees(one, use, failed)]
            if any(use.at < one["moment"] < failed["moment"] for one in agreeing):
                continue
            before = max(
                (one for one in agreeing if one["moment"] <= use.at),
                key=lambda one: (one["moment"], one["event_id"]),
                default=None,
            )
            same = use.handpiece_id == failed["handpiece_id"] and use.mode == failed["mode"]
            key = (failed["event_id"], before and before["event_id"], same)
            window = together.setdefault(
                key, {"failed": failed, "passed": before, "same": same, "uses": []}
            )
            window["uses"].append(use)
    return [_shown(one) for one in together.values()]


def _agrees(good: Mapping, use: _Use, failed: Mapping) -> bool:
    """Say whether a passed verification speaks of what a use and a failed one have in common."""
    of_tip = use.handpiece_id in (None, failed["handpiece_id"])
    of_mode = use.mode in (None, failed["mode"])
    return (not of_tip or good["handpiece_id"] == failed["handpiece_id"]) and (
        not of_mode or good["mode"] == failed["mode"]
    )


def _shown(window: Mapping[str, Any]) -> dict[str, Any]:
    failed, before, uses = window["failed"], window["passed"], window["uses"]
    ratios: list[str] = []
    if window["same"] and before is not None:
        ratios = sorted((before["ratio"], failed["ratio"]), key=Decimal)
    energies = [one.set_energy_j for one in uses]
    known = all(one is not None for one in energies)
    energy_j = sum(energies) if known else None
    least, most = ratios or (None, None)
    return {
        "failed": _plain(failed),
        "passed": before and _plain(before),
        "same": window["same"],
        "passes": [one.number for one in uses if one.number is not None],
        "ratio_least": least,
        "ratio_most": most,
        "set_energy_j": energy_j,
        "least_energy_j": _times(energy_j, least),
        "most_energy_j": _times(energy_j, most),
    }


def _plain(point: Mapping[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in point.items() if name != "moment"}


def _times(energy_j: float | None, ratio: str | None) -> float | None:
    return None if energy_j is None or ratio is None else energy_j * float(ratio)


def _service(
    record: Mapping[str, Any], causes: Mapping[str, Sequence[Mapping]]
) -> tuple[str | None, list[Mapping]]:
    """Return how a laser out of service came to be used, and what stood against it then."""
    moment = parse_rfc3339(record["started_at"])
    here = stood_at(causes.get(record["location_id"], ()), moment)
    # What another location of the practice knew of the same laser.
    there = [
        one
        for location_id, known in causes.items()
        if location_id != record["location_id"]
        for one in stood_at(known, moment)
    ]
    against = sorted([*here, *there], key=lambda one: (parse_rfc3339(one["at"]), one["event_id"]))
    if record.get("overrides"):
        return OVERRIDDEN, against
    if not against:
        return None, []
    flagged = any(one["code"] == _NOT_KNOWN_FLAG for one in record["flags"])
    return NOT_KNOWN if flagged or not here else NOT_OVERRIDDEN, against
