"""The power goes while entries are written: what was acknowledged is there afterwards.

A file system of its own lies in an image in memory and writes its journal by itself every 300 s
only. The writer is stopped, and the database's own processes with it; the image as it is then is
copied, mounted and recovered, as a machine does that starts again. Needs root and a loop device;
only the long check has both.
"""

import os
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import threading
from contextlib import contextmanager
from pathlib import Path

import pytest

from api.audit.verify import verify_log
from api.storage import readers
from api.storage.engine import EVERYWHERE, open_engine, read
from tests.faults.pg_on_disk import OnDisk

ROOT = Path(__file__).resolve().parents[2]
CUTS, SEED = 30, 20261128
CUTS_OF_BAD = 5
SQLITE_MB, POSTGRESQL_MB = 64, 256

needed = ("mkfs.ext4", "mount", "umount")
pytestmark = [
    pytest.mark.long,
    pytest.mark.skipif(
        os.geteuid() != 0 or not all(map(shutil.which, needed)) or not Path("/dev/loop0").exists(),
        reason="needs root and a loop device",
    ),
]


def make_image(image: Path, size_mb: int) -> None:
    with image.open("wb") as file:
        file.truncate(size_mb << 20)
    subprocess.run(["mkfs.ext4", "-q", "-F", image], check=True)


def copy_image(image: Path, to: Path) -> None:
    subprocess.run(["cp", "--sparse=always", image, to], check=True)


@contextmanager
def mounted(image: Path, at: Path):
    at.mkdir(exist_ok=True)
    subprocess.run(["mount", "-o", "loop,commit=300", image, at], check=True)
    try:
        yield at
    finally:
        subprocess.run(["umount", at], check=True)


class SqliteDisk:
    """A new disk each time, on which the writer makes its file."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def new(self, image: Path) -> None:
        make_image(image, SQLITE_MB)

    @contextmanager
    def begun(self, folder: Path):
        """Give what the writer is to write to, and what freezes the database beside it."""
        yield folder, lambda: None

    @contextmanager
    def recovered(self, folder: Path):
        """Give the URL of the database after the cut."""
        yield f"sqlite:///{folder / 'log.sqlite3'}"


class PostgresqlDisk:
    """A copy each time of a disk with a migrated database."""

    def __init__(self, folder: Path, beside) -> None:
        self.folder, self._beside = folder, beside
        self._prepared = folder / "prepared"
        make_image(self._prepared, POSTGRESQL_MB)
        with mounted(self._prepared, folder / "preparing") as at:
            database = OnDisk(at, beside)
            database.make()
            database.start()
            database.server()
            database.stop()

    def new(self, image: Path) -> None:
        copy_image(self._prepared, image)

    @contextmanager
    def begun(self, folder: Path):
        database = OnDisk(folder, self._beside)
        database.start()
        try:
            yield database.url(), database.freeze
        finally:
            database.kill()

    @contextmanager
    def recovered(self, folder: Path):
        database = OnDisk(folder, self._beside)
        database.start()
        try:
            yield database.url()
        finally:
            database.stop()


@pytest.fixture(scope="module", params=["sqlite", "postgresql"])
def disk(request):
    """A disk of either database, in a folder in memory."""
    room = "/dev/shm" if Path("/dev/shm").is_dir() else None
    with tempfile.TemporaryDirectory(dir=room) as folder:
        # The database's own user has to get there.
        Path(folder).chmod(0o755)
        if request.param == "sqlite":
            yield SqliteDisk(Path(folder))
        else:
            yield PostgresqlDisk(Path(folder), request.getfixturevalue("postgresql_server"))


def cut(disk, waits: str, after: int) -> tuple[list[str], Path]:
    """Write to a new disk and cut its power; return what was acknowledged, and the disk then."""
    image, copy = disk.folder / "disk", disk.folder / "disk-after"
    disk.new(image)
    acknowledged: list[str] = []
    with (
        mounted(image, disk.folder / "mounted") as folder,
        disk.begun(folder) as (where, freeze),
    ):
        writer = subprocess.Popen(
            [sys.executable, "-m", "tests.faults.power_writer", where, waits],
            cwd=ROOT,
            stdout=subprocess.PIPE,
            text=True,
        )
        try:
            assert writer.stdout.readline() == "begun\n"
            # The tables themselves are on the disk: what is asked is about the entries.
            subprocess.run(["sync", "-f", folder], check=True)
            for _ in range(after):
                acknowledged.append(writer.stdout.readline().strip())
            os.kill(writer.pid, signal.SIGSTOP)
            freeze()
            copy_image(image, copy)
        finally:
            writer.kill()
            reader = threading.Thread(target=writer.stdout.read)
            reader.start()
            writer.wait()
            reader.join()
    return acknowledged, copy


def lost(disk, waits: str, after: int) -> int:
    """Cut the power after so many acknowledged entries; return how many of them are gone."""
    acknowledged, copy = cut(disk, waits, after)
    assert len(set(acknowledged)) == after
    with mounted(copy, disk.folder / "again") as folder, disk.recovered(folder) as url:
        engine = open_engine(url, reach=EVERYWHERE)
        try:
            with read(engine) as connection:
                [location] = readers.locations(connection)
                stored = readers.stored_after(
                    connection, location["location_id"], 0, limit=1_000_000
                )
            assert verify_log(engine)["ok"]
        finally:
            engine.dispose()
    return len(set(acknowledged) - {row["event_id"] for row in stored})


def test_nothing_acknowledged_is_lost(disk):
    chance, total = random.Random(SEED), 0
    for _ in range(CUTS):
        after = chance.randint(1, 60)
        total += after
        assert lost(disk, "FULL", after) == 0
    print(f"{CUTS} cuts, {total} acknowledged entries, 0 lost")


def test_the_same_cuts_catch_a_database_that_does_not_wait(disk):
    chance = random.Random(SEED)
    gone = [lost(disk, "NORMAL", chance.randint(1, 60)) for _ in range(CUTS_OF_BAD)]
    print(f"{len(gone)} cuts, {sum(gone)} lost")
    assert sum(gone) > 0
