"""The power goes while entries are written: what was acknowledged is there afterwards.

A file system of its own lies in an image in memory and writes its journal by itself every 300 s
only. The writer is stopped, the image as it is then is copied, mounted and recovered, as a machine
does that starts again. Needs root and a loop device; only the long check has both.
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

ROOT = Path(__file__).resolve().parents[2]
CUTS, SEED = 30, 20261128
IMAGE_MB = 64

needed = ("mkfs.ext4", "mount", "umount")
pytestmark = [
    pytest.mark.long,
    pytest.mark.skipif(
        os.geteuid() != 0 or not all(map(shutil.which, needed)) or not Path("/dev/loop0").exists(),
        reason="needs root and a loop device",
    ),
]


@contextmanager
def mounted(image: Path, at: Path):
    at.mkdir(exist_ok=True)
    subprocess.run(["mount", "-o", "loop,commit=300", image, at], check=True)
    try:
        yield at
    finally:
        subprocess.run(["umount", at], check=True)


@pytest.fixture
def disks():
    """A folder in memory for images of file systems."""
    room = "/dev/shm" if Path("/dev/shm").is_dir() else None
    with tempfile.TemporaryDirectory(dir=room) as folder:
        yield Path(folder)


def cut(disks: Path, waits: str, after: int) -> tuple[list[str], Path]:
    """Write to a new disk and cut its power; return what was acknowledged, and the disk then."""
    image, copy = disks / "disk", disks / "disk-after"
    with image.open("wb") as file:
        file.truncate(IMAGE_MB << 20)
    subprocess.run(["mkfs.ext4", "-q", "-F", image], check=True)
    acknowledged: list[str] = []
    with mounted(image, disks / "mounted") as folder:
        writer = subprocess.Popen(
            [sys.executable, "-m", "tests.faults.power_writer", folder, waits],
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
            shutil.copy(image, copy)
        finally:
            writer.kill()
            reader = threading.Thread(target=writer.stdout.read)
            reader.start()
            writer.wait()
            reader.join()
    return acknowledged, copy


def lost(disks: Path, waits: str, after: int) -> int:
    """Cut the power after so many acknowledged entries; return how many of them are gone."""
    acknowledged, copy = cut(disks, waits, after)
    assert len(set(acknowledged)) == after
    with mounted(copy, disks / "again") as folder:
        engine = open_engine(f"sqlite:///{folder / 'log.sqlite3'}", reach=EVERYWHERE)
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


def test_nothing_acknowledged_is_lost(disks):
    chance, total = random.Random(SEED), 0
    for _ in range(CUTS):
        after = chance.randint(1, 60)
        total += after
        assert lost(disks, "FULL", after) == 0
    print(f"{CUTS} cuts, {total} acknowledged entries, 0 lost")


def test_the_same_cuts_catch_a_database_that_does_not_wait(disks):
    chance = random.Random(SEED)
    gone = [lost(disks, "NORMAL", chance.randint(1, 60)) for _ in range(5)]
    print(f"{len(gone)} cuts, {sum(gone)} lost")
    assert sum(gone) > 0
