"""The dose of one pass, as a record keeps it: plain numbers by name. Pure."""

import json
from collections.abc import Mapping
from functools import lru_cache
from typing import Any

from api.dose import evaluate

# Relative. Two languages that follow the same formulas differ in the last digits only.
SAME_DOSE_TOLERANCE = 1e-9


def pass_dose(settings: Mapping[str, Any]) -> dict[str, Any]:
    """Return the dose of a pass's settings in the result units of the dose contract.

    ``{"engine", "set": {name: number}, "delivered": {name: number} or None, "basis": "verified",
    "design" or None, "absent": {name: reason}}``. Bands are left out: they are read beside a dose,
    not kept as one. Raises ``BadInput`` when the settings cannot be evaluated.
    """
    kept = _of_text(json.dumps(settings, sort_keys=True))
    # Whoever gets it may change it; what is inside of its parts are numbers and words.
    return {name: dict(part) if isinstance(part, dict) else part for name, part in kept.items()}


def differences(tablet_dose: Mapping[str, Any] | None, dose: Mapping[str, Any]) -> list[str]:
    """Return the paths (``set.average_power``) at which a tablet's dose is not ours.

    Only an equal engine version can be compared; values the tablet did not send are not missed.
    """
    if not tablet_dose or tablet_dose.get("engine") != dose["engine"]:
        return []
    found = []
    for part in ("set", "delivered"):
        ours = dose[part] or {}
        for name, text in sorted((tablet_dose.get(part) or {}).items()):
            if not _same(text, ours.get(name)):
                found.append(f"{part}.{name}")
    return found


@lru_cache(maxsize=4096)
def _of_text(settings_text: str) -> dict[str, Any]:
    # A record is folded again with each new event; its earlier passes have not changed.
    answer = evaluate.respond(json.loads(settings_text))
    delivered = answer["dose"]["delivered"]
    return {
        "engine": answer["engine"],
        "set": _numbers(answer["dose"]["set"]),
        "delivered": None if delivered is None else _numbers(delivered),
        "basis": None if delivered is None else _plain(delivered.get("basis")),
        "absent": dict(answer["absent"]),
    }


def _numbers(results: Mapping[str, Any]) -> dict[str, float]:
    return {
        name: float(result["value"])
        for name, result in results.items()
        if isinstance(result, Mapping) and isinstance(result.get("value"), (int, float))
    }


def _plain(result: Any) -> Any:
    return result.get("value") if isinstance(result, Mapping) else result


def _same(text: Any, ours: float | None) -> bool:
    if not isinstance(text, (str, int, float)):
        return True  # words such as the basis are no part of the comparison
    try:
        theirs = float(text)
    except ValueError:
        return ours is None
    return ours is not None and abs(theirs - ours) <= SAME_DOSE_TOLERANCE * max(
        abs(theirs), abs(ours)
    )
