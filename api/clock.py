"""Time is passed in, never looked up: a clock that tests and the demo can step."""

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


def parse_rfc3339(text: str) -> datetime:
    """Read a time written by :func:`rfc3339` or another RFC 3339 writer.

    Raises ``ValueError`` for anything without an offset: a local time says nothing about when.
    """
    moment = datetime.fromisoformat(text)
    if moment.tzinfo is None:
        raise ValueError(f"no offset in {text!r}")
    return moment
