"""What one process has taken from a counter in the database and not used up yet."""

import threading
from datetime import datetime

_REMEMBERED = 10_000


class Leases:
    """By key, how many uses are left and until when they may be used."""

    def __init__(self) -> None:
        self._held: dict[tuple[str, str], tuple[int, datetime]] = {}
        self._guard = threading.Lock()

    def use(self, key: tuple[str, str], *, now: datetime) -> bool:
        """Use one up; return whether there was one."""
        with self._guard:
            left, until = self._held.get(key, (0, now))
            if left < 1 or until <= now:
                return False
            self._held[key] = (left - 1, until)
            return True

    def put(self, key: tuple[str, str], left: int, *, until: datetime) -> None:
        """Keep what was leased; what is forgotten is leased again."""
        with self._guard:
            if len(self._held) >= _REMEMBERED:
                self._held.clear()
            self._held[key] = (left, until)
