"""With which tests a laser shows that what stands against it is right again. Pure.

What failed is shown right by the same: a power with that tip and emission, a list by one of its
kind. A laser taken out for damage or a repair has been knocked, opened or put together anew: it
passes the list after a move or a service (or a commissioning, which asks for more) and a power
check, any tip's. After a suspicion its power is checked. What somebody wrote in other words says
nothing of what may be wrong: any test that the laser passed since will do.

A test counts only if it came after what it is to show right, and between two tablets clocks do not
say so. What is known (see ``made``) is held together:

- a moment that was claimed is put right by what its tablet had last heard of its clock;
- nothing happened later than the server had it;
- what one tablet wrote has an order that no clock changes, its numbers.

What remains is a clock that is wrong without the tablet's knowing, on an entry that came late: it
can make an earlier test pass for a later one, to two people who name it with a failure that they
have before them. By itself no clock lets anything go: only a release does, and it names what it is
about. A release on fewer tests than are asked for here lets nothing go, whenever it was said.
"""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from api.clock import parse_rfc3339, put_right, rfc3339
from api.devices.verification import OK, WARN, remarks

VERIFICATION, CHECK, TAKEN_OUT = "verification", "check", "taken_out"
PASSED = "passed"
# What may be asked for: the same power, the same list, the list after work, a power, any test.
AFTER_MOVE, POWER, ANY = "after_move", "power", "test"
_LISTS_AFTER_MOVE = ("after_move", "commissioning")
_AFTER_TAKING_OUT: Mapping[str, tuple[str, ...]] = {
    "damage": (AFTER_MOVE, POWER),
    "repair": (AFTER_MOVE, POWER),
    "suspicion": (POWER,),
}
# What is known of when something was written: by which tablet, as which of its entries, how far its
# clock was off as far as it knew, and when the server had it.
_MADE = ("tablet_id", "tablet_seq", "clock_offset_ms", "received_at")


@dataclass(frozen=True, kw_only=True)
class Test:
    """A verification or a check that was passed, and of what it is a test."""

    event_id: str
    kind: str
    at: str
    made: Mapping[str, Any]
    handpiece_id: str | None = None
    mode: str | None = None
    list_kind: str | None = None


def made(document: Mapping[str, Any]) -> dict[str, Any]:
    """Return what is known of when something was written; None for what is not known."""
    return {name: document.get(name) for name in _MADE}


def happened(at: str, document: Mapping[str, Any]) -> datetime:
    """Return when something happened: as claimed, put right, and no later than it was had."""
    received_at = document.get("received_at")
    moment = _put_right(at, document)
    return moment if received_at is None else min(moment, parse_rfc3339(received_at))


def happened_at(at: str, document: Mapping[str, Any]) -> str:
    """Return the same as a text: the claimed one, where it needs no putting right."""
    moment = happened(at, document)
    return at if moment == parse_rfc3339(at) else rfc3339(moment.astimezone(UTC))


def needs(cause: Mapping[str, Any]) -> tuple[str, ...]:
    """Return what has to be passed after a cause before it can be let go of."""
    if cause["kind"] == TAKEN_OUT:
        return _AFTER_TAKING_OUT.get(cause["reason_code"], (ANY,))
    return (cause["kind"],)


def passed(verification: Mapping[str, Any]) -> bool:
    """Say whether a verification is a proof: passed, with as many settings and readings as the
    house's rule asks. One with fewer that fails is a failure all the same.
    """
    counts = [len(one["measured"]) for one in verification.get("readings", ())]
    return verification.get("verdict") in (OK, WARN) and not remarks(counts)


def tests_of(verifications: Iterable[Mapping], checks: Iterable[Mapping]) -> list[Test]:
    """Return the tests that a laser passed, the earliest first."""
    found = [
        Test(
            event_id=one["event_id"],
            kind=VERIFICATION,
            at=one["verified_at"],
            made=made(one),
            handpiece_id=one["handpiece_id"],
            mode=one["mode"],
        )
        for one in verifications
        if passed(one)
    ]
    found += [
        Test(
            event_id=one["event_id"],
            kind=CHECK,
            at=one["done_at"],
            made=made(one),
            list_kind=one["kind"],
        )
        for one in checks
        if one["verdict"] == PASSED
    ]
    return sorted(found, key=lambda one: (happened(one.at, one.made), one.event_id))


def proofs(
    cause: Mapping[str, Any], tests: Sequence[Test], retired: Collection[str] = ()
) -> list[dict[str, Any]]:
    """Return for each thing that is needed the events of the tests that show it: ``{need, tests}``.

    ``tests`` are the laser's, as ``tests_of`` gives them; ``retired`` are handpieces that are used
    no more: what failed with one is shown right with another.
    """
    later = [one for one in tests if comes_after(one, cause)]
    return [
        {
            "need": need,
            "tests": [one.event_id for one in later if _shows(need, cause, one, retired)],
        }
        for need in needs(cause)
    ]


def comes_after(test: Test, cause: Mapping[str, Any]) -> bool:
    """Say whether a test is known to have been made after a cause."""
    tablet_id = cause.get("tablet_id")
    if tablet_id is not None and tablet_id == test.made["tablet_id"]:
        in_order = test.made["tablet_seq"] > cause["tablet_seq"]
        return in_order and _put_right(test.at, test.made) > _put_right(cause["at"], cause)
    return happened(test.at, test.made) > happened(cause["at"], cause)


def _put_right(at: str, document: Mapping[str, Any]) -> datetime:
    return put_right(at, document.get("clock_offset_ms"))


def _shows(need: str, cause: Mapping[str, Any], test: Test, retired: Collection[str]) -> bool:
    if need == VERIFICATION:
        handpiece_id = cause["handpiece_id"]
        same_tip = test.handpiece_id == handpiece_id or handpiece_id in retired
        return test.kind == VERIFICATION and test.mode == cause["mode"] and same_tip
    if need == CHECK:
        return test.kind == CHECK and test.list_kind == cause["list_kind"]
    if need == AFTER_MOVE:
        return test.kind == CHECK and test.list_kind in _LISTS_AFTER_MOVE
    return need == ANY or test.kind == VERIFICATION
