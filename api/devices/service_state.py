"""Whether a laser is out of service, since when and why, and who let it back. Pure.

A failed power verification, a failed check and somebody's word put a laser out, each by itself
(``service_causes``). Nothing but a release ends that, by two people, on tests passed after it
(``service_proofs``), and a release ends only what it names: a failure that happened or arrived
later stands, whichever of the two was written down first. So neither the order of arrival nor a
clock puts a laser back. The mirror on the tablet is ``pwa/src/session/service-state.ts``; both are
held to ``tests/vectors/service_state.json``.
"""

from collections.abc import Collection, Iterable, Mapping, Sequence
from datetime import datetime
from typing import Any

from api.clock import parse_rfc3339
from api.devices.service_causes import causes_of
from api.devices.service_proofs import Test, happened, happened_at, proofs, tests_of


def service_state(
    *,
    verifications: Iterable[Mapping[str, Any]],
    checks: Iterable[Mapping[str, Any]],
    entries: Iterable[Mapping[str, Any]],
    retired: Collection[str] = (),
) -> dict[str, Any]:
    """Return the state of one laser from all that was said about it.

    ``verifications`` and ``checks`` are its documents, ``entries`` what was said about its service:
    ``{event_id, type, at, by, said}``, each with what is known of how it was written
    (``service_proofs.made``). ``retired`` are handpieces that are used no more: what failed with
    one is let go of by a verification with another.

    The answer: ``in_service``; ``since`` and ``causes``, which stand against it now, the earliest
    first; ``ended``, causes that a release let go of, each with ``cleared``; ``key_held_by``, as
    said last since then; ``asked``, the last asking for a release that a second person may confirm.
    """
    checks, verifications = list(checks), list(verifications)
    said = sorted(entries, key=lambda one: (happened(one["at"], one), one["event_id"]))
    tests = tests_of(verifications, checks)
    asked = {one["event_id"]: one for one in said if one["type"] == "device.release_asked"}
    releases = [one for one in said if one["type"] == "device.released"]
    standing, ended = [], []
    for cause in causes_of(verifications, checks, said):
        cleared = _cleared(cause, asked, releases, tests, retired)
        if cleared is None:
            standing.append(cause)
        else:
            ended.append({**cause, "cleared": cleared})
    since = standing[0]["at"] if standing else None
    return {
        "in_service": not standing,
        "since": since,
        "causes": standing,
        "ended": ended,
        "key_held_by": _key_held_by(said, standing),
        "asked": _open_asking(standing, asked.values(), tests, retired),
    }


def stood_at(causes: Iterable[Mapping[str, Any]], moment: datetime) -> list[Mapping[str, Any]]:
    """Return which causes, with ``cleared`` where one was let go of, stood at a moment."""
    return [
        one
        for one in causes
        if parse_rfc3339(one.get("from", one["at"])) <= moment
        and (not one.get("cleared") or moment < parse_rfc3339(one["cleared"]["at"]))
    ]


def _rests_on(
    asking: Mapping[str, Any],
    cause: Mapping[str, Any],
    tests: Sequence[Test],
    retired: Collection[str],
) -> list[Test] | None:
    """Return the tests on which an asking lets go of a cause, if it names both.

    For each thing that is needed the first; None where one of them is missing.
    """
    if cause["event_id"] not in asking["said"]["causes"]:
        return None
    named = {one.event_id: one for one in tests if one.event_id in asking["said"]["tests"]}
    shown = [one["tests"] for one in proofs(cause, [*named.values()], retired)]
    return [named[some[0]] for some in shown] if all(shown) else None


def _cleared(
    cause: Mapping[str, Any],
    asked: Mapping[str, Mapping],
    releases: Sequence[Mapping],
    tests: Sequence[Test],
    retired: Collection[str],
) -> dict[str, Any] | None:
    """Return how a cause was let go of: by two people, on tests passed after it; else None."""
    for release in releases:
        asking = asked.get(release["said"]["asked"])
        if asking is None or asking["by"] is None or release["by"] in (None, asking["by"]):
            continue
        shown = _rests_on(asking, cause, tests, retired)
        if shown is not None:
            # Clocks of tablets differ: none lets go before what it rests on.
            moments = [
                happened_at(release["at"], release),
                happened_at(asking["at"], asking),
                *(happened_at(one.at, one.made) for one in shown),
            ]
            return {
                "at": max(moments, key=parse_rfc3339),
                "by": release["by"],
                "asked_by": asking["by"],
                "done": asking["said"]["done"],
                "event_id": release["event_id"],
            }
    return None


def _key_held_by(said: Sequence[Mapping], standing: Sequence[Mapping]) -> str | None:
    if not standing:
        return None
    since = parse_rfc3339(standing[0]["from"])
    holders = [
        one["said"].get("held_by") or one["said"].get("key_held_by")
        for one in said
        if one["type"] in ("device.key_held", "device.taken_out")
        and happened(one["at"], one) >= since
    ]
    return next((each for each in reversed(holders) if each), None)


def _open_asking(
    standing: Sequence[Mapping],
    asked: Iterable[Mapping],
    tests: Sequence[Test],
    retired: Collection[str],
) -> dict[str, Any] | None:
    useful = [
        one for one in asked if any(_rests_on(one, cause, tests, retired) for cause in standing)
    ]
    if not useful:
        return None
    last = useful[-1]
    return {**{name: last[name] for name in ("event_id", "at", "by")}, **last["said"]}
