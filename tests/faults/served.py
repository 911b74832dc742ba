"""A real server process on either database, with one location and tablets that push to it."""

import itertools
import json
import os
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import psutil

from api.app import create_app
from api.clock import SystemClock
from api.commands.serve import GUNICORN_CONFIG
from api.demo.tablet_client import APP_BUILD, BATCH_EVENTS, TabletClient
from api.demo.transport import from_url
from api.dose.evaluate import ENGINE_VERSION
from api.events import build
from api.settings import PROTOCOL_VERSION, Settings
from api.storage import reach, readers
from api.storage.engine import read
from tests import postgresql
from tests.story.serving import DOSEBOOK, free_port, wait_until_healthy
from tests.web.practice import PIN, Practice

ROOT = Path(__file__).resolve().parents[2]
OURS = "api.wsgi:application"


class Served:
    """A server of its own process, and the location in its database.

    ``application`` is what gunicorn serves: another one than ours is a known-bad stub.
    """

    def __init__(
        self,
        folder: Path,
        database: postgresql.Server | None,
        *,
        application: str = OURS,
        roles: tuple[str, ...] = ("clinician",),
    ) -> None:
        self.port, self.application = free_port(), application
        self.environment = {
            **os.environ,
            "DOSEBOOK_DATA": str(folder),
            "PORT": str(self.port),
            "WEB_CONCURRENCY": "1",
            "DOSEBOOK_LIMIT_FACTOR": "1000000",
        }
        self.environment.pop("DATABASE_URL", None)
        if database is not None:
            name = database.new_empty()
            self.environment |= {
                "DATABASE_URL": database.url(name, as_role=postgresql.LOGIN),
                "DATABASE_OWNER_URL": database.url(name, as_role=postgresql.OWNER),
                "DOSEBOOK_PG_BIN": str(database.programs),
            }
        subprocess.run(
            [DOSEBOOK, "db", "upgrade"], env=self.environment, check=True, capture_output=True
        )
        self.settings = Settings.from_env(self.environment)
        app = create_app(self.settings, clock=SystemClock())
        self.engine = app.extensions["dosebook"].engine
        with reach.within(*reach.EVERYWHERE):
            self.practice = Practice(app, SystemClock(), roles=roles)
            self.practice.give_secrets("clinician")
        self.start()

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def start(self) -> None:
        """Start the server and return once it is ready."""
        self.serving = subprocess.Popen(
            [sys.executable, "-m", "gunicorn", "-c", str(GUNICORN_CONFIG), self.application],
            env=self.environment,
            cwd=ROOT,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        wait_until_healthy(self.address)

    def stop(self) -> None:
        """Stop the server and let go of the database."""
        self.serving.terminate()
        self.serving.wait(timeout=60)
        self.engine.dispose()

    def code(self) -> str:
        """A code to enrol a tablet with."""
        with reach.within(*reach.EVERYWHERE):
            return self.practice.code()

    def tablet(self, label: str = "Chair") -> TabletClient:
        """An enrolled tablet of this location on which the clinician is signed in."""
        made = TabletClient(from_url(self.address), SystemClock(), label=label)
        made.enrol(self.code())
        made.sign_in(self.practice.people["clinician"], PIN)
        return made

    def worker(self) -> psutil.Process:
        """The process that answers; there is one."""
        [worker] = psutil.Process(self.serving.pid).children()
        return worker

    def dosebook(self, *arguments: str) -> subprocess.CompletedProcess[str]:
        """Give the server's machine a command."""
        return subprocess.run(
            [DOSEBOOK, *arguments], env=self.environment, capture_output=True, text=True
        )

    def log(self) -> list[dict]:
        """All entries of the location, in order."""
        with read(self.engine, locations=[self.practice.location_id]) as connection:
            found: list[dict] = []
            while page := readers.entries_after(
                connection, self.practice.location_id, len(found), limit=1000
            ):
                found += page
        return found


@contextmanager
def served(kind: str, folder: Path, database: postgresql.Server | None, **more) -> Iterator[Served]:
    """Serve until the block is left; ``kind`` is "sqlite" or "postgresql"."""
    made = Served(folder, database if kind == "postgresql" else None, **more)
    try:
        yield made
    finally:
        made.stop()


def full_batches(tablet: TabletClient, *, text: str = "note") -> Iterator[list[dict]]:
    """Make batch after batch, each of notes to a record of its own; nothing of it is kept."""
    numbers = itertools.count(1)
    while True:
        record_id = tablet.new_id()
        yield [
            build.build_item(
                tablet._key,
                event_id=tablet.new_id(),
                tablet_id=tablet.identity["tablet_id"],
                tablet_seq=number,
                location_id=tablet.identity["location_id"],
                actor_id=tablet.person["person_id"],
                type="procedure.noted",
                entity_id=record_id,
                payload={"text": f"{text} {number}"},
                occurred_at=tablet.now(),
                zone=tablet.identity["zone"],
                app_build=APP_BUILD,
                engine_version=ENGINE_VERSION,
                clock_offset_ms=0,
                random=os.urandom,
            )
            for number in itertools.islice(numbers, BATCH_EVENTS)
        ]


def push(tablet: TabletClient, items: list[dict]) -> None:
    """Send one batch, all of which the server has to take."""
    body = {"protocol": PROTOCOL_VERSION, "epoch": tablet.identity["epoch"], "items": items}
    results = tablet.ask("POST", "/sync/push", body)["results"]
    assert {each["outcome"] for each in results} == {"applied"}, json.dumps(results[:1])


def seconds(work) -> float:
    """Return how long ``work`` takes [s]."""
    began = time.monotonic()
    work()
    return time.monotonic() - began
