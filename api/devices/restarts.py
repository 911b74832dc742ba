"""After what the trend of a laser begins anew: work that says so, and releases. Pure.

Mirror: ``restartsOf`` in ``pwa/src/session/optics.ts``; both are held to
``tests/vectors/restarts.json``.
"""

from collections.abc import Iterable, Mapping
from datetime import UTC, date, datetime, time
from typing import Any
from zoneinfo import ZoneInfo

from api.clock import parse_rfc3339, rfc3339


def restarts_of(
    device_id: str,
    *,
    maintenance: Iterable[Mapping[str, Any]],
    causes: Iterable[Mapping[str, Any]],
    zone: str,
) -> list[tuple[str, str]]:
    """Return the restarts of a laser's trend as ``trend`` takes them: id and moment, in order.

    ``maintenance`` are the location's documents, ``causes`` what stands or stood against the laser
    (``device_service``). Work is known by its day alone: all checks of that day in ``zone`` are of
    the laser as it was handed back.
    """
    found = {
        one["maintenance_id"]: _day_start(one["done_on"], zone)
        for one in maintenance
        if one.get("device_id") == device_id
        and one.get("restarts_trend") is True
        and one.get("status") != "withdrawn"
    }
    # One release lets go of several causes.
    for one in causes:
        if cleared := one.get("cleared"):
            found[cleared["event_id"]] = cleared["at"]
    return sorted(found.items(), key=lambda one: parse_rfc3339(one[1]))


def _day_start(day: str, zone: str) -> str:
    """Return the moment at which a day begins on the location's wall."""
    begins = datetime.combine(date.fromisoformat(day), time.min, ZoneInfo(zone))
    return rfc3339(begins.astimezone(UTC))
