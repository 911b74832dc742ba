"""What has left a chart, as a record tells it: moves to another number, and voiding."""

import re
from collections.abc import Mapping
from typing import Any

from api.storage.departures import MOVED, VOID
from api.storage.rows import plain_words


def departures(record: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Return a row for each move of the record and for its voiding, without names of people.

    ``away`` is 1 while the record does not stand under the number; ``paper`` is 1 where, besides, a
    version was put into that chart while the record belonged to it. No tablet's clock decides: a
    desk says which version it has placed, and the server when it was told so. The latter counts
    too, since a move that arrives late takes the number of a version that was placed before.
    A reason that names another patient of the record is
    left out: it would stand under the number of one to whom that is no business.
    """
    made = {one["event_id"]: one["version"] for one in record["versions"]}
    heard = {line["event_id"]: line.get("received_at") or "" for line in record["history"]}
    removed = {one["because"]: one["at"] for one in record["removals"]}
    now_in = (record["patient"] or {}).get("chart_number")
    rows = []
    since, since_heard = 1, ""
    leaving = [(MOVED, one, one["from"]) for one in record["reattributions"]]
    if record["voided"] is not None:
        leaving.append((VOID, record["voided"], record["patient"] or {}))
    for kind, one, patient in leaving:
        # A move before the signature makes no version, and had no paper.
        until = made.get(one["event_id"], since)
        away = kind == VOID or patient.get("chart_number") != now_in
        placed = any(
            since <= each["version"] < until
            or since_heard <= heard[each["event_id"]] < heard[one["event_id"]]
            for each in record["placings"]
        )
        rows.append(
            {
                "event_id": one["event_id"],
                "kind": kind,
                "chart_number": patient.get("chart_number"),
                "second_identifier": patient.get("second_identifier"),
                "at": one["at"],
                "by_id": one["by"],
                "reason": reason_under(record, patient, one["reason"]),
                "away": int(away),
                "paper": int(away and placed),
                "removed_at": removed.get(one["event_id"]),
            }
        )
        since, since_heard = until, heard[one["event_id"]]
    return rows


def reason_under(
    record: Mapping[str, Any], patient: Mapping[str, Any] | None, reason: str
) -> str | None:
    """Return a reason as it may stand in the chart of ``patient``; None where it names another.

    The others are all patients in whose charts the record was, or is.
    """
    own = _identifiers(patient)
    moves = record.get("reattributions") or []
    others = [record["patient"], *(one[side] for one in moves for side in ("from", "to"))]
    said = f" {_bare(reason)} "
    named = {each for other in others for each in _identifiers(other)} - own
    return None if any(f" {each} " in said for each in named) else reason


def for_the_present_patient(record: Mapping[str, Any]) -> dict[str, Any]:
    """Return the record without what tells in which other charts it was."""
    patient = record["patient"]
    moves = {one["event_id"]: one for one in record["reattributions"]}
    shown = {
        event_id: {
            **one,
            "from": None,
            "to": one["to"] if one["to"] == patient else None,
            "reason": reason_under(record, patient, one["reason"]),
        }
        for event_id, one in moves.items()
    }

    def line_shown(line: Mapping[str, Any]) -> Mapping[str, Any]:
        move = shown.get(line["event_id"])
        if move is None:
            return line
        return {**line, "said": {name: move[name] for name in ("to", "reason")}, "changes": []}

    return {
        **record,
        "reattributions": [*shown.values()],
        "history": [line_shown(line) for line in record["history"]],
    }


def _identifiers(patient: Mapping[str, Any] | None) -> set[str]:
    return {bare for each in (patient or {}).values() if (bare := _bare(str(each or "")))}


def _bare(text: str) -> str:
    return " ".join(re.findall(r"\w+", plain_words(text)))
