"""Whether the lists of one procedure were answered in time. Pure; it looks at the record alone."""

from collections.abc import Iterable, Mapping
from datetime import datetime, timedelta
from typing import Any

from api.clock import parse_rfc3339

IN_TIME = "in time"
LATE = "late"
NOT_ANSWERED = "not answered"

# This project's own choice: time enough to clear up and to put the handpiece to be sterilised.
AFTER_USE_WITHIN_S = 1800
_CENTURY_S = 36525 * 86400


def lateness(
    record: Mapping[str, Any], *, after_use_within_s: int = AFTER_USE_WITHIN_S
) -> list[dict[str, Any]]:
    """Return one row for each list that a procedure calls for, in the order in which they are due.

    The list before the patient and the time-out precede the first pass; the list of a pause is
    answered before the pause ends; the list after use within the time of the end that the list
    itself allowed (``within_s``), ``after_use_within_s`` [s] where it said nothing.
    A row: {kind, state, late_by_s, completed_at, pause_from_at}. ``state`` is "in time", "late" or
    "not answered"; ``late_by_s`` [s, whole, rounded up] is None unless late; ``pause_from_at`` is
    None unless it is about a pause. Of one list answered twice the first answer counts.

    Moments are those of the tablets' clocks, as the record has them: this compares, it does not
    find out whether a clock was wrong.
    """
    answered = [one for one in record.get("lists") or () if one["completed_at"]]
    starts = [parse_rfc3339(one["started_at"]) for one in record.get("passes") or ()]
    first_pass = min(starts, default=None)
    after_use = _first(_of(answered, "after_use"))
    within_s = (after_use and after_use.get("within_s")) or after_use_within_s
    ended = record.get("ended_at")
    after_use_due = parse_rfc3339(ended) if ended else None
    time_out = [record["time_out"]] if record.get("time_out") else []
    return [
        _row("before_patient", _of(answered, "before_patient"), first_pass),
        _row("time_out", time_out, first_pass),
        *_pauses(record.get("pauses") or (), _of(answered, "pause")),
        _row("after_use", [after_use] if after_use else [], after_use_due, grace_s=within_s),
    ]


def _of(answered: Iterable[Mapping], kind: str) -> list[Mapping]:
    return [one for one in answered if one["kind"] == kind]


def _first(answered: Iterable[Mapping]) -> Mapping | None:
    return min(answered, key=lambda one: parse_rfc3339(one["completed_at"]), default=None)


def _pauses(pauses: Iterable[Mapping], answered: list[Mapping]) -> list[dict[str, Any]]:
    ordered = sorted(pauses, key=lambda one: parse_rfc3339(one["from_at"]))
    begins = [parse_rfc3339(one["from_at"]) for one in ordered]
    rows = []
    for number, pause in enumerate(ordered):
        following = begins[number + 1] if number + 1 < len(begins) else None
        own = [
            one
            for one in answered
            if begins[number] <= parse_rfc3339(one["completed_at"])
            and (following is None or parse_rfc3339(one["completed_at"]) < following)
        ]
        due = pause.get("to_at") and parse_rfc3339(pause["to_at"])
        rows.append(_row("pause", own, due or None, pause_from_at=pause["from_at"]))
    return rows


def _row(
    kind: str,
    answered: list[Mapping],
    due: datetime | None,
    *,
    pause_from_at: str | None = None,
    grace_s: int = 0,
) -> dict[str, Any]:
    first = _first(answered)
    state, late_by_s = NOT_ANSWERED, None
    if first is not None:
        over = parse_rfc3339(first["completed_at"]) - due if due else timedelta(0)
        # A list may allow any number; a calendar does not hold any.
        over -= timedelta(seconds=min(grace_s, _CENTURY_S))
        state = LATE if over > timedelta(0) else IN_TIME
        late_by_s = -(-over // timedelta(seconds=1)) if state == LATE else None
    return {
        "kind": kind,
        "state": state,
        "late_by_s": late_by_s,
        "completed_at": first["completed_at"] if first else None,
        "pause_from_at": pause_from_at,
    }
