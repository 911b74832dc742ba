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

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any

from api.clock import parse_rfc3339, put_right
from api.devices.service_proofs import happened, passed
from api.devices.service_state import stood_at
from api.devices.verification import FAIL

OVERRIDDEN, NOT_OVERRIDDEN, NOT_KNOWN = "overridden", "not_overridden", "not_known"
_KNOWN_FLAGS = ("out_of_service_not_overridden", "out_of_service_meanwhile")
_NOT_KNOWN_FLAGS = ("out_of_service_not_known", "out_of_service_meanwhile_not_known")


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
    verifications = list(verifications)
    good = _Good(_point(one) for one in verifications if passed(one))
    bad = _by_kind(_point(one) for one in verifications if one["verdict"] == FAIL)
    found = []
    for record in records:
        if not record.get("started_at"):
            continue
        uses = _uses(record)
        windows = _windows(uses, good, bad)
        service, against = _service(record, uses, causes)
        if windows or service:
            found.append(
                {
                    "record_id": record["record_id"],
                    "location_id": record["location_id"],
                    "windows": windows,
                    "service": service,
                    "causes": against,
                    "reasons": [one["reason"] for one in _overrides(record)],
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
        "moment": happened(verification["verified_at"], verification),
        "handpiece_id": verification["handpiece_id"],
        "mode": verification["mode"],
        "ratio": verification["ratio"],
        "meter_uncertainty": verification["meter_uncertainty"],
    }


def _uses(record: Mapping[str, Any]) -> list[_Use]:
    own = (record.get("handpiece") or {}).get("handpiece_id")
    off = _clocks(record)
    uses = []
    for one in record["passes"]:
        emission = one["settings"].get("emission")
        uses.append(
            _Use(
                put_right(one["started_at"], off.get(one.get("event_id"))),
                (one["handpiece"] or {}).get("handpiece_id", own),
                emission.get("mode") if isinstance(emission, Mapping) else None,
                one["number"],
                one["total_energy_j"]["set"],
            )
        )
    return uses or [_Use(_begun(record), own, None, None, None)]


def _begun(record: Mapping[str, Any]) -> datetime:
    opened = [one for one in record.get("history", ()) if one["type"] == "procedure.opened"]
    effective = next((one for one in opened if one["effective"]), {})
    return put_right(record["started_at"], effective.get("clock_offset_ms"))


def _clocks(record: Mapping[str, Any]) -> dict[str, int | None]:
    """Return by entry how far its tablet's clock was off, as far as the tablet knew [ms]."""
    return {one["event_id"]: one.get("clock_offset_ms") for one in record.get("history", ())}


def _windows(
    uses: Sequence[_Use], good: "_Good", bad: Mapping[tuple, "_Row"]
) -> list[dict[str, Any]]:
    together: dict[tuple, dict[str, Any]] = {}
    for use in uses:
        first = [one for each in bad.values() if (one := each.first_from(use.at)) is not None]
        for failed in sorted(first, key=_in_time):
            agreeing = good.agreeing(use, failed)
            since = agreeing.first_after(use.at)
            if since is not None and since["moment"] < failed["moment"]:
                continue
            before = agreeing.last_by(use.at)
            same = use.handpiece_id == failed["handpiece_id"] and use.mode == failed["mode"]
            key = (failed["event_id"], before and before["event_id"], same)
            window = together.setdefault(
                key, {"failed": failed, "passed": before, "same": same, "uses": []}
            )
            window["uses"].append(use)
    return [_shown(one) for one in together.values()]


def _in_time(point: Mapping) -> tuple[datetime, str]:
    return point["moment"], point["event_id"]


class _Row:
    """Verifications in the order of time: years of them are asked about for each use."""

    def __init__(self, points: Iterable[Mapping]) -> None:
        self._points = sorted(points, key=_in_time)
        self._moments = [one["moment"] for one in self._points]

    def first_from(self, moment: datetime) -> Mapping | None:
        """Return the first at or after a moment."""
        return self._at(bisect_left(self._moments, moment))

    def first_after(self, moment: datetime) -> Mapping | None:
        """Return the first after a moment."""
        return self._at(bisect_right(self._moments, moment))

    def last_by(self, moment: datetime) -> Mapping | None:
        """Return the last at or before a moment."""
        return self._at(bisect_right(self._moments, moment) - 1)

    def _at(self, place: int) -> Mapping | None:
        return self._points[place] if 0 <= place < len(self._points) else None


def _by_kind(points: Iterable[Mapping]) -> dict[tuple, _Row]:
    """Return verifications by tip and emission."""
    kinds: dict[tuple, list[Mapping]] = {}
    for one in points:
        kinds.setdefault((one["handpiece_id"], one["mode"]), []).append(one)
    return {kind: _Row(some) for kind, some in kinds.items()}


class _Good:
    """The passed verifications, by what a use and a failed one may have in common."""

    def __init__(self, points: Iterable[Mapping]) -> None:
        self._points = list(points)
        self._rows: dict[tuple, _Row] = {}

    def agreeing(self, use: _Use, failed: Mapping) -> _Row:
        """Return those that speak of what a use and a failed one have in common."""
        tip = failed["handpiece_id"] if use.handpiece_id in (None, failed["handpiece_id"]) else None
        mode = failed["mode"] if use.mode in (None, failed["mode"]) else None
        if (tip, mode) not in self._rows:
            self._rows[tip, mode] = _Row(
                one
                for one in self._points
                if tip in (None, one["handpiece_id"]) and mode in (None, one["mode"])
            )
        return self._rows[tip, mode]


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
    record: Mapping[str, Any], uses: Sequence[_Use], causes: Mapping[str, Sequence[Mapping]]
) -> tuple[str | None, list[Mapping]]:
    """Return how a laser out of service came to be used, and what stood against it then.

    It may have gone out in the middle of a case: what stood at its start counts, and at each use.
    """
    moments = {_begun(record), *(one.at for one in uses)}
    stood = {
        location_id: [one for one in known if any(stood_at([one], moment) for moment in moments)]
        for location_id, known in causes.items()
    }
    here = stood.get(record["location_id"], [])
    # What another location of the practice knew of the same laser counts too.
    each_once = {one["event_id"]: one for known in stood.values() for one in known}
    against = sorted(
        each_once.values(), key=lambda one: (parse_rfc3339(one["at"]), one["event_id"])
    )
    if _overrides(record):
        return OVERRIDDEN, against
    if not against:
        return None, []
    codes = {one["code"] for one in record["flags"]}
    not_known = not here or codes.intersection(_NOT_KNOWN_FLAGS)
    known = codes.intersection(_KNOWN_FLAGS)
    return NOT_KNOWN if not_known and not known else NOT_OVERRIDDEN, against


def _overrides(record: Mapping[str, Any]) -> list[Mapping[str, Any]]:
    """Return what was said for going on with this laser; a corrected opening may name another."""
    device_id = (record.get("device") or {}).get("device_id")
    return [
        one
        for one in record.get("overrides") or ()
        if device_id is None or one["device_id"] == device_id
    ]
