"""Time is passed in, never looked up: a clock that tests and the demo can step."""

import re
from datetime import UTC, datetime, timedelta
from typing import Protocol


class Clock(Protocol):
    """Anything that can say what time it is."""

    def now(self) -> datetime:
        """Return the present moment, aware, in UTC."""


class SystemClock:
    """The machine's own clock."""

    def now(self) -> datetime:
        return datetime.now(UTC)


class SteppedClock:
    """A clock that moves only when told to."""

    def __init__(self, start: datetime) -> None:
        if start.tzinfo is None:
            raise ValueError("a clock needs an aware start time")
        self._now = start.astimezone(UTC)

    def now(self) -> datetime:
        return self._now

    def advance(self, seconds: float) -> None:
        """Move the clock by ``seconds``; negative moves it back, as a wrong clock would."""
        self._now += timedelta(seconds=seconds)

    def set(self, moment: datetime) -> None:
        """Put the clock at ``moment``."""
        self._now = moment.astimezone(UTC)


def rfc3339(moment: datetime) -> str:
    """Write an aware time with milliseconds and offset, the one form used in data."""
    if moment.tzinfo is None:
        raise ValueError("a time without an offset cannot be written")
    return moment.isoformat(timespec="milliseconds")


_RFC3339 = re.compile(
    r"\d{4}-\d{2}-\d{2}[Tt]\d{2}:\d{2}:\d{2}(\.\d+)?([Zz]|[+-]\d{2}:\d{2})", re.ASCII
)


def parse_rfc3339(text: str) -> datetime:
    """Read a time in the grammar of RFC 3339, section 5.6, years 1900 to 2999.

    Raises ``ValueError`` for anything else: a time without an offset says nothing about when, the
    other forms of ISO 8601 are not read by browsers, and a year near the ends of the calendar
    cannot be moved to another zone.
    """
    if not _RFC3339.fullmatch(text):
        raise ValueError(f"not an RFC 3339 time: {text[:40]!r}")
    moment = datetime.fromisoformat(text.upper())
    if not 1900 <= moment.year <= 2999:
        raise ValueError(f"no year that a record can have: {moment.year}")
    return moment


def put_right(said: str, clock_offset_ms: int | None) -> datetime:
    """Return when something was by a clock that was off by so much, as far as its tablet knew.

    A clock that is wrong beyond reason is not put right: the moment stays as it was said.
    """
    moment = parse_rfc3339(said)
    try:
        right = moment + timedelta(milliseconds=clock_offset_ms or 0)
        reasonable = 1900 <= right.astimezone(UTC).year <= 2999
    except OverflowError:
        return moment
    return right if reasonable else moment
