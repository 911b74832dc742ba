"""Whether an operator was allowed what they did: what stood in the register at that moment. Pure.

The mirror on the tablet is ``pwa/src/session/operators.ts``; both are held to
``tests/vectors/operators.json``.
"""

from collections.abc import Iterable, Mapping
from datetime import date, datetime
from typing import Any

from api.clock import parse_rfc3339

LICENCE, DEVICE_TRAINING = "licence", "device_training"
# What an operator needs where nothing was decided about them.
NEEDED = (LICENCE,)

MISSING, EXPIRED = "credential_missing", "credential_expired"
OUTSIDE_DEVICE, OUTSIDE_PROCEDURE = "outside_scope_device", "outside_scope_procedure"
CODES = (MISSING, EXPIRED, OUTSIDE_DEVICE, OUTSIDE_PROCEDURE)


def findings(
    person: Mapping[str, Any],
    *,
    at: datetime,
    day: date,
    device_id: str | None,
    procedure_kind_id: str | None,
) -> list[dict[str, Any]]:
    """Return what stood against this operator: ``{code, kind, expires_on}`` each, in a fixed order.

    ``person`` is a person's document; ``at`` is when they operated and ``day`` the day it was at
    the location. A credential is good through the day that is printed on it. Only what had been
    noted by ``at`` counts, and only as long as it had not been replaced or taken back.
    """
    scope = _scope_at(person, at)
    needed = NEEDED if scope is None or scope.get("needs") is None else tuple(scope["needs"])
    held = list(_held_at(person, at, device_id))
    found = []
    for kind in _KINDS:
        of_kind = [one for one in held if one["kind"] == kind]
        if not of_kind:
            if kind in needed:
                found.append({"code": MISSING, "kind": kind, "expires_on": None})
            continue
        ends = [one.get("expires_on") for one in of_kind]
        if None not in ends and date.fromisoformat(max(ends)) < day:
            found.append({"code": EXPIRED, "kind": kind, "expires_on": max(ends)})
    return [*found, *_outside(scope, device_id, procedure_kind_id)]


_KINDS = (LICENCE, "course", "hands_on", DEVICE_TRAINING)


def _held_at(
    person: Mapping[str, Any], at: datetime, device_id: str | None
) -> Iterable[Mapping[str, Any]]:
    licensed = False
    for one in person.get("credentials") or ():
        ended = one.get("ended_at")
        if parse_rfc3339(one["noted_at"]) > at or (ended and parse_rfc3339(ended) <= at):
            continue
        if one["kind"] == DEVICE_TRAINING and one.get("device_id") not in (None, device_id):
            continue
        licensed = licensed or one["kind"] == LICENCE
        yield one
    # As it stood with the person before credentials had entries of their own.
    if not licensed and person.get("licence_expires"):
        yield {"kind": LICENCE, "expires_on": person["licence_expires"]}


def _scope_at(person: Mapping[str, Any], at: datetime) -> Mapping[str, Any] | None:
    decided = [one for one in person.get("scopes") or () if parse_rfc3339(one["decided_at"]) <= at]
    return decided[-1] if decided else None


def _outside(
    scope: Mapping[str, Any] | None, device_id: str | None, procedure_kind_id: str | None
) -> list[dict[str, Any]]:
    if scope is None:
        return []
    asked = (
        (OUTSIDE_DEVICE, scope.get("device_ids"), device_id),
        (OUTSIDE_PROCEDURE, scope.get("procedure_kind_ids"), procedure_kind_id),
    )
    return [
        {"code": code, "kind": None, "expires_on": None}
        for code, allowed, used in asked
        if allowed is not None and used not in allowed
    ]
