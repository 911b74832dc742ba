"""What puts a laser out of service: a failed power check or list, and somebody's word. Pure."""

from collections.abc import Iterable, Mapping
from typing import Any

from api.devices.service_proofs import CHECK, TAKEN_OUT, VERIFICATION, happened, happened_at, made
from api.devices.verification import FAIL

FAILED = "failed"
_MEASURED = ("handpiece_id", "mode", "ratio", "meter_uncertainty")


def causes_of(
    verifications: Iterable[Mapping], checks: Iterable[Mapping], said: Iterable[Mapping]
) -> list[dict[str, Any]]:
    """Return each cause, the earliest first: ``{event_id, kind, at, from, by, …}``.

    ``at`` is when it was claimed to be, ``from`` when it is taken to have been; what is known of
    how it was written stands beside them.
    """
    found = [
        _cause(one, VERIFICATION, at=one["verified_at"], by=one["verified_by"])
        | {name: one[name] for name in _MEASURED}
        for one in verifications
        if one["verdict"] == FAIL
    ]
    found += [
        _cause(one, CHECK, at=one["done_at"], by=one["checked_by"])
        | {"list_kind": one["kind"], "title": one["title"], "items": _items(one)}
        for one in checks
        if one["verdict"] == FAILED
    ]
    found += [
        _cause(one, TAKEN_OUT, at=one["at"], by=one["by"])
        | {name: one["said"][name] for name in ("reason_code", "reason")}
        for one in said
        if one["type"] == "device.taken_out"
    ]
    return sorted(found, key=lambda one: (happened(one["at"], one), one["event_id"]))


def _cause(document: Mapping[str, Any], kind: str, *, at: str, by: str | None) -> dict[str, Any]:
    return {
        "event_id": document["event_id"],
        "kind": kind,
        "at": at,
        "from": happened_at(at, document),
        "by": by,
        **made(document),
    }


def _items(check: Mapping[str, Any]) -> list[str]:
    """Return the text of each item that failed a check, with what was said to it."""
    answers = {one["item_id"]: one for one in check.get("answers", ())}
    found = []
    for item_id in check.get("failed", ()):
        answer = answers.get(item_id) or {"text": item_id}
        note = (answer.get("note") or "").strip()
        found.append(f"{answer['text']}: {note}" if note else answer["text"])
    return found
