"""A real server with the demo practice on loopback."""

import fcntl
import os
import shutil
import socket
import sqlite3
import subprocess
import sys
import tempfile
import time
import urllib.request
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path

from api.clock import SystemClock
from api.commands.serve import GUNICORN_CONFIG
from api.events import signing
from api.people import tablets
from api.settings import Settings
from api.storage import readers
from api.storage.engine import EVERYWHERE, open_engine, write
from api.sync import server_key
from tests.story import forked
from tests.story.forked import Running

DOSEBOOK = Path(sys.executable).with_name("dosebook")
ROOT = Path(__file__).resolve().parents[2]


def start(name: str, environment: dict[str, str], said: Path | None = None) -> Running:
    """Start what `dosebook serve` or `work` is; the server is late where that is asked for."""
    if name == "work":
        return forked.start(["dosebook", name], environment, said)
    late = "STORY_LATE_S" in os.environ
    # Who is late keeps a thread, and must not keep the others waiting for one.
    more = ["--threads", "64", "tests.story.late:application"] if late else ["api.wsgi:application"]
    return forked.start(["gunicorn", "-c", GUNICORN_CONFIG, *more], environment, said)


@dataclass(frozen=True)
class Server:
    """A served demo practice: where it is and how to give it a command."""

    port: int
    environment: dict[str, str]

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def dosebook(self, *arguments: str) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [DOSEBOOK, *arguments], env=self.environment, capture_output=True, text=True
        )

    def key(self) -> signing.PrivateKey:
        """The server's own key, from which the keys of its tablets are worked out."""
        return server_key.load(Path(self.environment["DOSEBOOK_DATA"]) / "server_key.pem")

    def new_code(self) -> str:
        """A code to enrol a tablet with, as `dosebook tablet code` makes it."""
        # Not by the command: a process of its own takes twenty times as long.
        engine = open_engine(Settings.from_env(self.environment).database_url, reach=EVERYWHERE)
        try:
            with write(engine) as connection:
                [location] = readers.locations(connection)
                made = tablets.make_code(
                    connection,
                    location_id=location["location_id"],
                    made_by=None,
                    clock=SystemClock(),
                    random=os.urandom,
                )
        finally:
            engine.dispose()
        return made["code"]


def demo_data(run: Path) -> Path:
    """Load the demo practice once for all tests of a run, whose folder is ``run``; where it is."""
    data = run / "demo"
    with (run / "demo.lock").open("w") as lock:
        # Several processes run tests of one run; the first of them loads it.
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not data.exists():
            made = run / "demo-in-the-making"
            load_demo(made)
            made.rename(data)
    return data


def load_demo(data: Path) -> None:
    """Load the demo practice into a folder of its own."""
    environment = {**os.environ, "DOSEBOOK_DATA": str(data)}
    environment.pop("DATABASE_URL", None)
    # What stories are about happens at one location; the second one has tests of its own.
    with tempfile.TemporaryDirectory() as said:
        for command in (("db", "upgrade"), ("demo", "load", "--one-location")):
            forked.run(["dosebook in haste", *command], environment, Path(said) / "said")
    # What is forked ends without closing the database: all of it into the one file that is copied.
    with closing(sqlite3.connect(data / "dosebook.sqlite3")) as database:
        database.execute("PRAGMA wal_checkpoint(TRUNCATE)")


@contextmanager
def demo_practice(
    data: Path, *, loaded: Path | None = None, logs: Path | None = None
) -> Iterator[Server]:
    """Serve a demo practice of one's own with its data in ``data`` until the block is left.

    It is a copy of ``loaded``, else loaded anew. All that the server says about its work is
    written into files in ``logs``, where asked for.
    """
    port = free_port()
    served = Server(port, {**os.environ, "DOSEBOOK_DATA": str(data), "PORT": str(port)})
    served.environment.pop("DATABASE_URL", None)
    if logs is not None:
        served.environment["DOSEBOOK_ACCESS_LOG"] = str(logs / "access.log")
    if loaded is None:
        load_demo(data)
    else:
        shutil.copytree(loaded, data, dirs_exist_ok=True)
    running = [
        start(name, served.environment, None if logs is None else logs / f"{name}.err")
        for name in ("serve", "work")
    ]
    try:
        wait_until_healthy(served.address)
        yield served
    finally:
        forked.stop(running)


def free_port() -> int:
    """Return a port that nobody listens at just now."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def wait_until_healthy(address: str) -> None:
    """Return once the server at ``address`` says that it is ready."""
    until = time.monotonic() + 120
    while True:
        try:
            urllib.request.urlopen(f"{address}/api/v1/health", timeout=10).close()
            return
        except OSError:
            if time.monotonic() > until:
                raise
            # Asked without a pause, the answer would come later: the server needs the processor.
            time.sleep(0.05)
