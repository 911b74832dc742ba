"""How what was said about a thing in a register becomes its document. Pure.

Mirror: ``pwa/src/session/register-fold.ts``; both are held to ``tests/vectors/registers.json``.
"""

from collections.abc import Mapping
from typing import Any

from api.clock import parse_rfc3339

# Of what recurs as many are in the document; all are in the log.
KEPT = 20
# Which list of a document each type of entry adds to.
_HISTORIES: Mapping[str, str] = {
    "eyewear.inspected": "inspections",
    "key.moved": "movements",
    "meter.calibrated": "calibrations",
}
_OF_A_CALIBRATION = ("calibrated_on", "due_on", "uncertainty", "certificate")


def fold(known: Mapping[str, Any] | None, body: Mapping[str, Any], payload: Mapping) -> dict:
    """Return the document of ``body``'s entity after this entry; ``known`` is the one before it."""
    kind, happened = body["type"].split(".")
    mark = {"event_id": body["event_id"], "at": body["occurred_at"], "by": body["actor_id"]}
    before = {f"{kind}_id": body["entity_id"], "status": "current", **(known or {})}
    if happened == "retired":
        return {**before, "status": "retired", "retired": {**payload, **mark}}
    if body["type"] not in _HISTORIES:
        # Registered, taken or ruled: it replaces what was said before, but not what has happened.
        kept = {name: before[name] for name in _HISTORIES.values() if name in before}
        fresh = {**payload, **kept, **_named(kind, body, mark)}
        if _later(before.get("at"), mark["at"]):
            # A tablet handed it in late: what was said after it stands.
            fresh = before
        else:
            fresh |= _still_retired(known, mark["at"])
        if kind == "meter":
            calibrations = _with(kept.get("calibrations", ()), _calibration(payload, mark))
            fresh |= {"calibrations": calibrations, **_latest_calibration(calibrations)}
        return fresh
    name = _HISTORIES[body["type"]]
    changed = {**before, name: _with(before.get(name, ()), {**payload, **mark})}
    if kind == "meter":
        changed |= _latest_calibration(changed[name])
    return changed


def _still_retired(known: Mapping[str, Any] | None, at: str) -> dict:
    """Return what stays of a retirement where something is registered as of ``at``.

    Whoever registers a thing after it was retired brings it back; what was registered before that,
    and only came late, does not.
    """
    retired = (known or {}).get("retired")
    return (
        {"status": "retired", "retired": retired} if _later((retired or {}).get("at"), at) else {}
    )


def _named(kind: str, body: Mapping, mark: Mapping) -> dict:
    return {f"{kind}_id": body["entity_id"], "status": "current", **mark}


def _later(one: str | None, other: str) -> bool:
    return one is not None and parse_rfc3339(one) > parse_rfc3339(other)


def _with(history: Any, one: Mapping) -> list[dict]:
    """Add one, in the order in which it happened: a tablet may hand in late."""
    others = [each for each in history if each["event_id"] != one["event_id"]]
    ordered = sorted([*others, dict(one)], key=lambda each: parse_rfc3339(each["at"]))
    return ordered[-KEPT:]


def _calibration(payload: Mapping, mark: Mapping) -> dict:
    papers = {name: payload[name] for name in ("certificates",) if payload.get(name)}
    return {name: payload.get(name) for name in _OF_A_CALIBRATION} | papers | dict(mark)


def _latest_calibration(calibrations: list[dict]) -> dict:
    """Return what the newest certificate says; of one day the one noted last."""
    newest = max(enumerate(calibrations), key=lambda at: (at[1].get("calibrated_on") or "", at[0]))
    return {name: newest[1].get(name) for name in _OF_A_CALIBRATION}
