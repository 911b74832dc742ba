"""Days on which something is due: how often, and what a row says. Pure."""

from calendar import monthrange
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from zoneinfo import ZoneInfo

from api.clock import parse_rfc3339

OVERDUE = "overdue"
DUE = "due"
SOON = "soon"

Documents = Mapping[str, Sequence[Mapping]]


@dataclass(frozen=True, kw_only=True)
class Rule:
    """How often something is due: in days or in months of the calendar."""

    every_days: int | None = None
    every_months: int | None = None

    @property
    def soon_days(self) -> int:
        """How many days ahead it is called soon: at most a month, or a quarter of the time."""
        days = self.every_days if self.every_days is not None else 28 * (self.every_months or 0)
        return min(30, days // 4)


@dataclass(frozen=True, kw_only=True, order=True)
class Row:
    """One thing that is due.

    ``due_on`` is a day of the location's calendar; None where it was never done. ``detail`` names
    the credential of a person, the action after an incident.
    """

    what: str
    subject_kind: str
    subject_id: str
    due_on: str | None
    state: str
    detail: str | None = None


def after(day: date, rule: Rule) -> date:
    """Return when it is due again; the last day of a month stays in the month that is meant."""
    if rule.every_days is not None:
        return day + timedelta(days=rule.every_days)
    months = day.month - 1 + (rule.every_months or 0)
    year, month = day.year + months // 12, months % 12 + 1
    return date(year, month, min(day.day, monthrange(year, month)[1]))


def state_of(due_on: date | None, today: date, soon_days: int) -> str | None:
    if due_on is None:
        return DUE
    if due_on < today:
        return OVERDUE
    if due_on == today:
        return DUE
    return SOON if due_on <= today + timedelta(days=soon_days) else None


def row(
    what: str,
    subject: tuple[str, str],
    due_on: date | None,
    today: date,
    soon_days: int,
    detail: str | None = None,
) -> Iterator[Row]:
    state = state_of(due_on, today, soon_days)
    if state is not None:
        said = None if due_on is None else due_on.isoformat()
        kind, subject_id = subject
        yield Row(
            what=what,
            subject_kind=kind,
            subject_id=subject_id,
            due_on=said,
            state=state,
            detail=detail,
        )


def in_use(documents: Documents, kind: str) -> Iterator[Mapping]:
    return (one for one in documents.get(kind, ()) if one.get("status") in (None, "current"))


def local_day(moment: str, zone: str) -> date:
    return parse_rfc3339(moment).astimezone(ZoneInfo(zone)).date()
