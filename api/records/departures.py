"""What has left a chart, as a record tells it: moves to another number, and voiding."""

import re
from collections.abc import Mapping
from typing import Any

from api.storage.departures import MOVED, VOID
from api.storage.rows import plain_words


def departures(record: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Return a row for each move of the record and for its voiding, without names of people.

    ``away`` is 1 while the record does not stand under the number; ``paper`` is 1 where, besides, a
    version was put into that chart while the record belonged to it. Versions decide, and no clock:
    a desk says which version it has placed. A reason that names the patient to whom a record was
    moved is left out: it would stand under the number of another.
    """
    made = {one["event_id"]: one["version"] for one in record["versions"]}
    removed = {one["because"]: one["at"] for one in record["removals"]}
    now_in = (record["patient"] or {}).get("chart_number")
    rows = []
    since = 1
    leaving = [(MOVED, one, one["from"]) for one in record["reattributions"]]
    if record["voided"] is not None:
        leaving.append((VOID, record["voided"], record["patient"] or {}))
    for kind, one, patient in leaving:
        # A move before the signature makes no version, and had no paper.
        until = made.get(one["event_id"], since)
        away = kind == VOID or patient.get("chart_number") != now_in
        placed = any(since <= each["version"] < until for each in record["placings"])
        rows.append(
            {
                "event_id": one["event_id"],
                "kind": kind,
                "chart_number": patient.get("chart_number"),
                "second_identifier": patient.get("second_identifier"),
                "at": one["at"],
                "by_id": one["by"],
                "reason": None if _names(one["reason"], one.get("to")) else one["reason"],
                "away": int(away),
                "paper": int(away and placed),
                "removed_at": removed.get(one["event_id"]),
            }
        )
        since = until
    return rows


def _names(reason: str, patient: Mapping[str, Any] | None) -> bool:
    said = f" {_bare(reason)} "
    identifiers = (_bare(str(each or "")) for each in (patient or {}).values())
    return any(f" {each} " in said for each in identifiers if each)


def _bare(text: str) -> str:
    return " ".join(re.findall(r"\w+", plain_words(text)))
