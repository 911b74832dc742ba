"""Replication beside the other slow work, or as a process of its own: on and on, with pauses."""

import logging
import os
import random
import threading
from collections.abc import Callable

from api.backup import group_key
from api.clock import Clock
from api.errors import DomainError
from api.events import signing
from api.group import client, joined, link, replicating
from api.group.practice import Practice
from api.settings import Settings
from api.storage import replication
from api.storage.engine import EVERYWHERE, Engine, read
from api.sync import judge, server_key

LOOK_S = 10.0
# However little there is to send: so often somebody can rely on the last contact being known.
CONTACT_S = 15 * 60.0
FIRST_PAUSE_S, LONGEST_PAUSE_S = 5.0, 15 * 60.0

_log = logging.getLogger(__name__)
Progress = Callable[[int, int], None]


def pause_s(failures: int, chance: float) -> float:
    """Return how long to wait after so many failures in a row; ``chance`` is from 0 to 1.

    Twice as long each time, up to a quarter of an hour, and between half of it and all of it, so
    that practices that lost their group together do not come back together.
    """
    longest = min(FIRST_PAUSE_S * 2 ** min(failures - 1, 20), LONGEST_PAUSE_S)
    return longest * (0.5 + 0.5 * chance)


class Replication:
    """Keeps the group up to date; whoever made it may stop it at any moment."""

    def __init__(
        self,
        settings: Settings,
        engine: Engine,
        clock: Clock,
        *,
        projectors: judge.Projectors,
        send: client.Send | None = None,
        chance: Callable[[], float] = random.random,
    ) -> None:
        self.settings, self.engine, self.clock = settings, engine, clock
        self.projectors = projectors
        self._send, self._chance = send, chance
        self.failures = 0

    def once(self, progress: Progress | None = None) -> dict[str, int]:
        """Make one contact. Raises ``Conflict`` "group_none", ``Unreachable``, ``Refused``."""
        to = link.needed(self.settings)
        key = server_key.load(self.settings.server_key_path)
        asking = self._client(to, key)
        practice = Practice(
            engine=self.engine,
            clock=self.clock,
            server_key=key,
            random=os.urandom,
            projectors=self.projectors,
        )
        done = replicating.contact(practice, asking, progress=progress)
        joined.leave_key(
            self.settings,
            to,
            asking,
            public=group_key.recovery_public(self.settings),
            seal=lambda public, about: group_key.seal(self.settings, public=public, about=about),
        )
        return done

    def _client(self, to: link.Link, key: signing.PrivateKey) -> client.Client:
        return client.Client(
            self._send or client.over_http(to.address),
            self.clock,
            key,
            os.urandom,
            group_key=to.group_key,
            practice_id=to.practice_id,
        )

    def tick(self) -> float:
        """Make a contact and return after how many seconds the next one is due at the latest."""
        try:
            if link.get(self.settings) is None:
                return CONTACT_S
            self.once()
        except DomainError as problem:
            self.failures += 1
            _log.warning("not replicated: %s", problem.code)
            return pause_s(self.failures, self._chance())
        except Exception:
            # A database that is away for a moment must not end replication for good.
            self.failures += 1
            _log.exception("not replicated")
            return pause_s(self.failures, self._chance())
        self.failures = 0
        return CONTACT_S

    def run_forever(self, stop: threading.Event) -> None:
        """Make contacts until ``stop`` is set: soon after something was written, else now and
        then, and after a failure with ever longer pauses."""
        while not stop.is_set():
            left = self.tick()
            while left > 0 and not stop.wait(min(LOOK_S, left)):
                left -= LOOK_S
                if self.failures == 0 and self._something_waits():
                    break

    def _something_waits(self) -> bool:
        try:
            if link.get(self.settings) is None:
                return False
            with read(self.engine, locations=EVERYWHERE) as connection:
                lags = replication.lags(connection)
                return any(one["waiting"] for one in lags) or any(
                    # What the group does not take is tried with the next contact that is due.
                    one["problem"] is None
                    and replication.photographs_waiting(connection, one["location_id"])
                    for one in lags
                )
        except Exception:
            _log.exception("what waits could not be read")
            return False
