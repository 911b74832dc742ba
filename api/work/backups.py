"""A backup every few hours, beside the other slow work: made when the last one is old enough."""

import logging
import os
import threading
from datetime import timedelta

from api.backup import making, pruning
from api.clock import Clock
from api.errors import DomainError
from api.settings import Settings
from api.storage.engine import Engine

LOOK_S = 60.0
# After one that failed: a disk that is away is often back within the hour.
AGAIN_AFTER = timedelta(minutes=30)

_log = logging.getLogger(__name__)


class Timer:
    """Makes a backup whenever one is due."""

    def __init__(self, settings: Settings, engine: Engine, clock: Clock) -> None:
        if settings.backups_dir is None:
            raise ValueError("without a folder there is nothing to do")
        self.settings, self.engine, self.clock = settings, engine, clock
        self._failed_at = None

    def is_due(self) -> bool:
        """Say whether the last verified backup of some location is old enough, or missing."""
        now = self.clock.now()
        # A clock that was put back since says nothing of how long ago that was.
        if self._failed_at is not None and self._failed_at <= now < self._failed_at + AGAIN_AFTER:
            return False
        age = making.age_of_oldest(self.engine, now)
        return age is None or age >= timedelta(hours=self.settings.backup_hours)

    def tick(self) -> bool:
        """Make one if it is due; return whether one was made. A failure is noted, not raised."""
        if not self.is_due():
            return False
        try:
            made = making.make(
                self.settings,
                self.engine,
                self.clock,
                os.urandom,
                folder=self.settings.backups_dir,
            )
        except DomainError as problem:
            self._failed_at = self.clock.now()
            _log.error("no backup: %s (%s)", problem.message, problem.code)
            return False
        self._failed_at = None
        _log.info("verified backup %s", made["path"])
        self._prune(made["backup_id"])
        return True

    def _prune(self, latest: str) -> None:
        """Remove what newer ones make needless; one that could not go is tried with the next."""
        try:
            removed = pruning.prune(
                self.engine,
                self.clock,
                folder=self.settings.backups_dir,
                keep=self.settings.backups_kept,
                latest=latest,
            )
        except (DomainError, OSError) as problem:
            _log.error("older backups were not removed: %s", problem)
            return
        for each in removed:
            _log.info("removed older backup %s", each)

    def run_forever(self, stop: threading.Event) -> None:
        """Look every minute until ``stop`` is set."""
        while not stop.is_set():
            try:
                self.tick()
            except Exception:
                # A database that is away for a moment must not end the backups for good.
                self._failed_at = self.clock.now()
                _log.exception("no backup")
            stop.wait(LOOK_S)
