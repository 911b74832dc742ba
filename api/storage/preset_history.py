"""What became of a preset, for the records that used it."""

from datetime import datetime
from typing import Any

from api.clock import parse_rfc3339
from api.storage import documents


def withdrawn_before(
    house: documents.Once, *, preset_id: str, version: int, at: str
) -> dict[str, Any] | None:
    """Return the first withdrawal {at, by, reason, version} of a version made before ``at``.

    A preset is withdrawn with all versions up to the one that was in force; ``at`` is a moment in
    RFC 3339. Moments are compared as the tablets' clocks had them. None where there is none.
    """
    moment = parse_rfc3339(at)
    found = [
        one
        for one in _history(house, preset_id, "withdrawals")
        if one["version"] is not None
        and one["version"] >= version
        and parse_rfc3339(one["at"]) <= moment
    ]
    return min(found, key=_when, default=None)


def never_in_force(house: documents.Once, *, preset_id: str, event_id: str) -> bool:
    """Say whether a publication was put aside as a draft because it came second."""
    drafts = (one for name in ("drafts", "set_aside") for one in _history(house, preset_id, name))
    return any(one["event_id"] == event_id for one in drafts)


def is_flagged(house: documents.Once, *, preset_id: str) -> bool:
    """Say whether anything became of a preset that its records have to tell."""
    return any(_history(house, preset_id, name) for name in ("withdrawals", "drafts", "set_aside"))


def _when(withdrawal: dict[str, Any]) -> datetime:
    return parse_rfc3339(withdrawal["at"])


def _history(house: documents.Once, preset_id: str, name: str) -> list[dict[str, Any]]:
    document = house.get("preset", preset_id) or {}
    return document.get(name) or []
