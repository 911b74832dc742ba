"""What became of the lists that a procedure calls for, in the words of the papers."""

from collections.abc import Mapping
from typing import Any

from api.handover import phrases
from api.safety.lateness import LATE, NOT_ANSWERED, lateness

NAMES = {
    "before_patient": "before the patient",
    "time_out": "time-out",
    "pause": "pause",
    "after_use": "after use",
}
NOT_YET = "not answered"


def states(record: Mapping, zone: str) -> list[tuple[str, str]]:
    """Return (list, what became of it) for each, plainly: in time, late by how much, or not."""
    return [(_name(row, zone), _state(row, zone)) for row in lateness(record)]


def remarks(record: Mapping, zone: str) -> list[str]:
    """Return the lines for a short text: what was late and what was not answered, if anything."""
    rows = lateness(record)
    missing = [_name(row, zone) for row in rows if row["state"] == NOT_ANSWERED]
    late = [
        f"{_name(row, zone)} ({_span(row['late_by_s'])})" for row in rows if row["state"] == LATE
    ]
    return [
        *([f"Lists not answered: {', '.join(missing)}"] if missing else []),
        *([f"Lists answered late: {', '.join(late)}"] if late else []),
    ]


def _name(row: Mapping[str, Any], zone: str) -> str:
    pause = row["pause_from_at"]
    return NAMES[row["kind"]] + (f" at {phrases.minute(pause, zone)}" if pause else "")


def _state(row: Mapping[str, Any], zone: str) -> str:
    if row["state"] == NOT_ANSWERED:
        return NOT_YET
    answered = f"answered at {phrases.time(row['completed_at'], zone)}"
    if row["state"] == LATE:
        return f"{answered}, late: {_span(row['late_by_s'])} after it was due"
    return f"{answered}, in time"


def _span(seconds: int) -> str:
    minutes, rest = divmod(seconds, 60)
    if minutes == 0:
        return f"{seconds} s"
    if minutes < 60:
        return f"{minutes} min {rest} s" if rest else f"{minutes} min"
    hours, minutes = divmod(minutes, 60)
    return f"{hours} h {minutes} min" if minutes else f"{hours} h"
