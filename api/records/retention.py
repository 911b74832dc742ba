"""How long a record is kept: the practice's own rules, the longest wins, a hold beats all. Pure.

No rule stands in the program: law differs by state and country, and for children and implants
within one. What is worked out here is what the practice's table says, never what a law says.
"""

from collections.abc import Iterable, Mapping
from datetime import date
from typing import Any

RETENTION_ENDED = "retention_ended"


def keep_until(last_day: date, rules: Iterable[Mapping[str, Any]]) -> tuple[date, Mapping] | None:
    """Return the last day on which the rules still keep a record, and the rule that says so.

    ``last_day`` is the day of the record's last entry. None where there is no rule.
    """
    ends = [(_years_on(last_day, rule["years"]), rule) for rule in rules]
    return max(ends, key=lambda one: one[0], default=None)


def last_day(entries: Iterable[Mapping[str, Any]]) -> date:
    """Return the day of a record's last entry, by its own clock or by when it came: the later.

    Each is {body, received_at}. A clock that was behind must not shorten the time.
    """
    days = [date.fromisoformat(entry["received_at"][:10]) for entry in entries]
    made = (_day((entry["body"] or {}).get("occurred_at")) for entry in entries)
    days += [day for day in made if day is not None]
    return max(days)


def is_over(until: date | None, today: date) -> bool:
    """Say whether the time of the rules is over; without a rule it never is."""
    return until is not None and today > until


def _day(moment: object) -> date | None:
    # Of what was put aside, the content may be of any form.
    try:
        return date.fromisoformat(str(moment)[:10])
    except ValueError:
        return None


def _years_on(day: date, years: int) -> date:
    """Return the same day some years later; the day after the end of February where there is none.

    Raises nothing: past the calendar's end it is the calendar's last day.
    """
    if day.year + years > date.max.year:
        return date.max
    try:
        return day.replace(year=day.year + years)
    except ValueError:
        return date(day.year + years, 3, 1)
