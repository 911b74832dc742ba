"""The application with a clock that a story puts on, and a served demo practice that has it.

The clock of the machine runs on; what a story adds to it stands in a file beside the data, so that
an hour goes by in no time. Nothing of this is part of the program.
"""

import os
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

from api.app import create_app
from api.commands.serve import GUNICORN_CONFIG
from api.settings import Settings
from tests.story import forked, serving

AHEAD = "clock_ahead_s"


class PutOnClock:
    """The machine's clock, ahead by as many seconds as a file says; without the file, by none."""

    def __init__(self, path: Path) -> None:
        self._path = path

    def now(self) -> datetime:
        ahead_s = float(self._path.read_text()) if self._path.exists() else 0.0
        return datetime.now(UTC) + timedelta(seconds=ahead_s)


@dataclass(frozen=True)
class PutOnServer(serving.Server):
    """A served demo practice whose clock can be put on."""

    def put_on(self, seconds: float) -> None:
        """Put its clock on, from where it is now."""
        path = Path(self.environment["DOSEBOOK_DATA"]) / AHEAD
        ahead_s = float(path.read_text()) if path.exists() else 0.0
        # Renamed, so that a request never reads half of it.
        fresh = path.with_suffix(".new")
        fresh.write_text(str(ahead_s + seconds))
        fresh.rename(path)


@contextmanager
def served(data: Path) -> Iterator[PutOnServer]:
    """Serve the demo practice in ``data`` until the block is left."""
    port = serving.free_port()
    environment = {**os.environ, "DOSEBOOK_DATA": str(data), "PORT": str(port)}
    environment.pop("DATABASE_URL", None)
    command = ["gunicorn", "-c", GUNICORN_CONFIG, "tests.story.stepped:application()"]
    running = forked.start(command, environment)
    try:
        made = PutOnServer(port, environment)
        serving.wait_until_healthy(made.address)
        yield made
    finally:
        forked.stop([running])


def application():
    """Return the application, for gunicorn."""
    settings = Settings.from_env()
    return create_app(settings, clock=PutOnClock(settings.data_dir / AHEAD))
