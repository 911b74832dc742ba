"""Tidying up beside the other work: once when it begins, then at most once an hour."""

import logging
from datetime import datetime, timedelta

from api.clock import Clock
from api.storage import reach, tidy
from api.storage.engine import Engine, again

EVERY = timedelta(hours=1)

_log = logging.getLogger(__name__)


class Tidying:
    """Remembers when it was done last; several workers do it twice, which does no harm."""

    def __init__(self) -> None:
        self._next: datetime | None = None

    def run_if_due(self, engine: Engine, clock: Clock) -> dict[str, int]:
        """Delete old rows if it is time again; return how many of each table, else nothing."""
        now = clock.now()
        if self._next is not None and now < self._next:
            return {}
        # Before it is tried: what cannot be done now is not tried every second.
        self._next = now + EVERY
        gone = again(
            engine,
            lambda connection: tidy.tidy(connection, now=now),
            locations=reach.EVERYWHERE,
        )
        if any(gone.values()):
            _log.info("old rows deleted: %s", gone)
        return gone
