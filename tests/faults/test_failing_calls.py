"""A disk that fails now and then: the n-th write or sync of a process ends in an error.

The errors are put in by ``strace``, between the program and the system: on SQLite below the
writer, on PostgreSQL below the server's own processes. Which calls a database makes, and when, is
its own affair; PostgreSQL ends itself where its log cannot be written, and is started anew then.
Nothing acknowledged is lost, and writing goes on afterwards.
"""

import shutil
import subprocess
import sys
import tempfile
import threading
from collections.abc import Iterable
from contextlib import contextmanager
from pathlib import Path

import pytest

from api.audit.verify import verify_log
from api.storage import readers
from api.storage.engine import EVERYWHERE, open_engine, read
from tests.faults.pg_on_disk import OnDisk

ROOT = Path(__file__).resolve().parents[2]
pytestmark = [
    pytest.mark.long,
    pytest.mark.skipif(shutil.which("strace") is None, reason="needs strace"),
]
ENTRIES = 80
# From which call on, and every how many, each fails; after the tables are there.
SQLITE_FAULTS = (
    "fdatasync,fsync:error=EIO:when=40+7",
    "pwrite64:error=EIO:when=1500+97",
)
# Of its log alone, and counted for each process: a session commits some times before its log fails,
# and what recovers the database after that makes fewer such calls than these.
POSTGRESQL_FAULTS = (
    "fdatasync:error=EIO:when=17+5",
    "pwrite64:error=EIO:when=23+5",
    "pwrite64:error=ENOSPC:when=23+5",
)
# More files than the log gets here.
LOG_FILES = 128


def failing(fault: str, *, files: Iterable[Path] = ()) -> list[str]:
    """Return how a command is begun whose calls fail so, where files are named on these only."""
    calls = fault.split(":")[0]
    return [
        *("strace", "-f", "-qq", "-o", "/dev/null"),
        *("-e", f"trace={calls}", "-e", f"inject={fault}"),
        *(word for file in files for word in ("-P", str(file))),
    ]


class Sqlite:
    """A file of the writer's own."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    @contextmanager
    def served(self, fault: str):
        """Give what the writer's command begins with, and what it is to write to."""
        yield failing(fault), self._folder

    @contextmanager
    def whole(self):
        """Give the URL of the database once the disk is whole again."""
        yield f"sqlite:///{self._folder / 'log.sqlite3'}"


class Postgresql:
    """A server of its own, started again by somebody whenever it ended."""

    def __init__(self, folder: Path, beside) -> None:
        self._database = OnDisk(folder, beside)
        self._database.make()
        with self.whole():
            self._database.server()

    @contextmanager
    def served(self, fault: str):
        over = threading.Event()
        log = self._database.data / "pg_wal"
        under = failing(fault, files=[log / f"{1:08X}{0:08X}{n:08X}" for n in range(LOG_FILES)])

        def look_after() -> None:
            while not over.wait(0.1):
                if not self._database.is_running():
                    self._database.start(under=under, wait=False)

        self._database.start(under=under)
        looking = threading.Thread(target=look_after)
        looking.start()
        try:
            yield [], self._database.url()
        finally:
            over.set()
            looking.join()
            self._database.kill()

    @contextmanager
    def whole(self):
        self._database.start()
        try:
            yield self._database.url()
        finally:
            self._database.stop()


@pytest.fixture(params=["sqlite", "postgresql"])
def database(request):
    with tempfile.TemporaryDirectory() as made:
        folder = Path(made)
        # The database's own user has to get there.
        folder.chmod(0o755)
        if request.param == "sqlite":
            yield Sqlite(folder)
        else:
            yield Postgresql(folder, request.getfixturevalue("postgresql_server"))


def written(database, fault: str, *more: str) -> tuple[list[str], int]:
    """Write with such errors; return what was acknowledged and how often it was refused."""
    acknowledged: list[str] = []
    refused = 0
    with database.served(fault) as (begin, where):
        run = subprocess.Popen(
            [*begin, sys.executable, "-m", "tests.faults.power_writer", where, "FULL", *more],
            cwd=ROOT,
            stdout=subprocess.PIPE,
            text=True,
        )
        for line in run.stdout:
            if line.strip() == "refused":
                refused += 1
            elif line.strip() != "begun":
                acknowledged.append(line.strip())
            if len(acknowledged) == ENTRIES:
                break
        run.kill()
        run.stdout.close()
        run.wait()
    return acknowledged, refused


def lost(database, acknowledged: list[str]) -> set[str]:
    with database.whole() as url:
        engine = open_engine(url, reach=EVERYWHERE)
        try:
            with read(engine) as connection:
                [location] = readers.locations(connection)
                stored = readers.stored_after(connection, location["location_id"], 0, limit=10_000)
            assert verify_log(engine)["ok"]
        finally:
            engine.dispose()
    there = [row["event_id"] for row in stored]
    assert len(there) == len(set(there))
    return set(acknowledged) - set(there)


EVERY = [("sqlite", fault) for fault in SQLITE_FAULTS] + [
    ("postgresql", fault) for fault in POSTGRESQL_FAULTS
]


@pytest.mark.parametrize(("database", "fault"), EVERY, indirect=["database"])
def test_nothing_acknowledged_is_lost_and_it_goes_on(database, fault):
    acknowledged, refused = written(database, fault)
    print(f"{len(acknowledged)} acknowledged, {refused} refused")
    assert len(acknowledged) == ENTRIES
    assert refused > 0
    assert lost(database, acknowledged) == set()


@pytest.mark.parametrize(
    ("database", "fault"),
    # A commit whose sync failed may be there all the same once PostgreSQL has recovered.
    [("sqlite", SQLITE_FAULTS[0]), ("postgresql", POSTGRESQL_FAULTS[1])],
    indirect=["database"],
)
def test_the_same_errors_catch_a_server_that_takes_a_refusal_for_a_yes(database, fault):
    acknowledged, _ = written(database, fault, "believing")
    assert lost(database, acknowledged)
