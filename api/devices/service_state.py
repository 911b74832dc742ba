"""Whether a laser is out of service, since when and why, and who let it back. Pure.

A failed power verification, a failed check and somebody's word put a laser out, each by itself.
Nothing but a release ends that, and a release ends only what it names: a failure that happened or
arrived later stands, whichever of the two was written down first. So the order of arrival does not
matter. The mirror on the tablet is ``pwa/src/session/service-state.ts``; both are held to
``tests/vectors/service_state.json``.
"""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from api.clock import parse_rfc3339
from api.devices.verification import FAIL, OK, WARN, remarks

VERIFICATION, CHECK, TAKEN_OUT = "verification", "check", "taken_out"
PASSED, FAILED = "passed", "failed"


@dataclass(frozen=True)
class _Test:
    """A verification or a check that was passed, and of what it is a test."""

    event_id: str
    kind: str
    said_at: str
    handpiece_id: str | None = None
    mode: str | None = None
    list_kind: str | None = None

    @property
    def at(self) -> datetime:
        return _moment(self.said_at)


def service_state(
    *,
    verifications: Iterable[Mapping[str, Any]],
    checks: Iterable[Mapping[str, Any]],
    entries: Iterable[Mapping[str, Any]],
    retired: Collection[str] = (),
) -> dict[str, Any]:
    """Return the state of one laser from all that was said about it.

    ``verifications`` and ``checks`` are its documents, ``entries`` what was said about its service:
    ``{event_id, type, at, by, said}``. ``retired`` are handpieces that are used no more: what
    failed with one is let go of by a verification with another.

    The answer: ``in_service``; ``since`` and ``causes``, which stand against it now, the earliest
    first; ``ended``, causes that a release let go of, each with ``cleared``; ``key_held_by``, as
    said last since then; ``asked``, the last asking for a release that a second person may confirm.
    """
    checks, verifications = list(checks), list(verifications)
    said = sorted(entries, key=lambda one: (_moment(one["at"]), one["event_id"]))
    causes = _causes(verifications, checks, said)
    tests = {one.event_id: one for one in _tests(verifications, checks)}
    asked = {one["event_id"]: one for one in said if one["type"] == "device.release_asked"}
    releases = [one for one in said if one["type"] == "device.released"]
    standing, ended = [], []
    for cause in causes:
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
        "key_held_by": _key_held_by(said, since),
        "asked": _open_asking(standing, asked.values(), tests, retired),
    }


def proofs(
    cause: Mapping[str, Any],
    *,
    verifications: Iterable[Mapping[str, Any]],
    checks: Iterable[Mapping[str, Any]],
    retired: Collection[str] = (),
) -> list[str]:
    """Return the events of the tests with which a cause may be let go of, the earliest first."""
    fitting = [one for one in _tests(verifications, checks) if _fits(cause, one, retired)]
    return [one.event_id for one in sorted(fitting, key=lambda one: (one.at, one.event_id))]


def stood_at(causes: Iterable[Mapping[str, Any]], moment: datetime) -> list[Mapping[str, Any]]:
    """Return which causes, with ``cleared`` where one was let go of, stood at a moment."""
    return [
        one
        for one in causes
        if _moment(one["at"]) <= moment
        and (not one.get("cleared") or moment < _moment(one["cleared"]["at"]))
    ]


def passed(verification: Mapping[str, Any]) -> bool:
    """Say whether a verification is a proof: passed, with as many settings and readings as the
    house's rule asks. One with fewer that fails is a failure all the same.
    """
    counts = [len(one["measured"]) for one in verification.get("readings", ())]
    return verification.get("verdict") in (OK, WARN) and not remarks(counts)


def _causes(
    verifications: Sequence[Mapping], checks: Sequence[Mapping], said: Sequence[Mapping]
) -> list[dict[str, Any]]:
    found = [
        {
            "event_id": one["event_id"],
            "kind": VERIFICATION,
            "at": one["verified_at"],
            "by": one["verified_by"],
            **{name: one[name] for name in ("handpiece_id", "mode", "ratio", "meter_uncertainty")},
        }
        for one in verifications
        if one["verdict"] == FAIL
    ]
    found += [
        {
            "event_id": one["event_id"],
            "kind": CHECK,
            "at": one["done_at"],
            "by": one["checked_by"],
            "list_kind": one["kind"],
            "title": one["title"],
            "items": _items(one),
        }
        for one in checks
        if one["verdict"] == FAILED
    ]
    found += [
        {
            "event_id": one["event_id"],
            "kind": TAKEN_OUT,
            "at": one["at"],
            "by": one["by"],
            "reason_code": one["said"]["reason_code"],
            "reason": one["said"]["reason"],
        }
        for one in said
        if one["type"] == "device.taken_out"
    ]
    return sorted(found, key=lambda one: (_moment(one["at"]), one["event_id"]))


def _items(check: Mapping[str, Any]) -> list[str]:
    """Return the text of each item that failed a check, with what was said to it."""
    answers = {one["item_id"]: one for one in check.get("answers", ())}
    found = []
    for item_id in check.get("failed", ()):
        answer = answers.get(item_id) or {"text": item_id}
        note = (answer.get("note") or "").strip()
        found.append(f"{answer['text']}: {note}" if note else answer["text"])
    return found


def _tests(verifications: Iterable[Mapping], checks: Iterable[Mapping]) -> list[_Test]:
    found = [
        _Test(
            one["event_id"],
            VERIFICATION,
            one["verified_at"],
            handpiece_id=one["handpiece_id"],
            mode=one["mode"],
        )
        for one in verifications
        if passed(one)
    ]
    found += [
        _Test(one["event_id"], CHECK, one["done_at"], list_kind=one["kind"])
        for one in checks
        if one["verdict"] == PASSED
    ]
    return found


def _fits(cause: Mapping[str, Any], test: _Test, retired: Collection[str]) -> bool:
    """Say whether a test shows that what failed is right again.

    A failed power is shown right with the same mode and handpiece, a failed list by a passed one of
    its kind; after somebody's suspicion any test will do that the laser passed since.
    """
    if test.at <= _moment(cause["at"]):
        return False
    if cause["kind"] == TAKEN_OUT:
        return True
    if cause["kind"] == CHECK:
        return test.kind == CHECK and test.list_kind == cause["list_kind"]
    same_handpiece = test.handpiece_id == cause["handpiece_id"] or cause["handpiece_id"] in retired
    return test.kind == VERIFICATION and test.mode == cause["mode"] and same_handpiece


def _proof_of(
    asking: Mapping[str, Any],
    cause: Mapping[str, Any],
    tests: Mapping[str, _Test],
    retired: Collection[str],
) -> _Test | None:
    """Return the first test that an asking names which lets go of a cause that it names."""
    if cause["event_id"] not in asking["said"]["causes"]:
        return None
    named = (tests[each] for each in asking["said"]["tests"] if each in tests)
    fitting = (one for one in named if _fits(cause, one, retired))
    return min(fitting, key=lambda one: (one.at, one.event_id), default=None)


def _cleared(
    cause: Mapping[str, Any],
    asked: Mapping[str, Mapping],
    releases: Sequence[Mapping],
    tests: Mapping[str, _Test],
    retired: Collection[str],
) -> dict[str, Any] | None:
    """Return how a cause was let go of: by two people, on a test passed after it; else None."""
    for release in releases:
        asking = asked.get(release["said"]["asked"])
        if asking is None or asking["by"] is None or release["by"] in (None, asking["by"]):
            continue
        proof = _proof_of(asking, cause, tests, retired)
        if proof is not None:
            return {
                # Clocks of tablets differ: none lets go before what it rests on.
                "at": max(release["at"], asking["at"], proof.said_at, key=_moment),
                "by": release["by"],
                "asked_by": asking["by"],
                "done": asking["said"]["done"],
                "event_id": release["event_id"],
            }
    return None


def _key_held_by(said: Sequence[Mapping], since: str | None) -> str | None:
    if since is None:
        return None
    holders = [
        one["said"].get("held_by") or one["said"].get("key_held_by")
        for one in said
        if one["type"] in ("device.key_held", "device.taken_out")
        and _moment(one["at"]) >= _moment(since)
    ]
    return next((each for each in reversed(holders) if each), None)


def _open_asking(
    standing: Sequence[Mapping],
    asked: Iterable[Mapping],
    tests: Mapping[str, _Test],
    retired: Collection[str],
) -> dict[str, Any] | None:
    useful = [
        one for one in asked if any(_proof_of(one, cause, tests, retired) for cause in standing)
    ]
    if not useful:
        return None
    last = useful[-1]
    return {**{name: last[name] for name in ("event_id", "at", "by")}, **last["said"]}


def _moment(text: str) -> datetime:
    return parse_rfc3339(text)
