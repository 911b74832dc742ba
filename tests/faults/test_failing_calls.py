"""A disk that fails now and then: the n-th write or sync of the writer's process ends in an error.

The errors are put in by ``strace``, between the program and the system; which calls a database
makes, and when, is its own affair. Nothing acknowledged is lost, and writing goes on afterwards.
"""

import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from api.audit.verify import verify_log
from api.storage import readers
from api.storage.engine import EVERYWHERE, open_engine, read

ROOT = Path(__file__).resolve().parents[2]
pytestmark = [
    pytest.mark.long,
    pytest.mark.skipif(shutil.which("strace") is None, reason="needs strace"),
]
ENTRIES = 80
# From which call on, and every how many, each fails; after the tables are there.
FAULTS = (
    "fdatasync,fsync:error=EIO:when=40+7",
    "pwrite64:error=EIO:when=1500+97",
)


def written(folder: Path, fault: str, *more: str) -> tuple[list[str], int]:
    """Write with such errors; return what was acknowledged and how often it was refused."""
    calls = fault.split(":")[0]
    command = ["strace", "-f", "-qq", "-o", "/dev/null", "-e", f"trace={calls}"]
    run = subprocess.Popen(
        [
            *command,
            *("-e", f"inject={fault}"),
            *(sys.executable, "-m", "tests.faults.power_writer", folder, "FULL", *more),
        ],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        text=True,
    )
    acknowledged: list[str] = []
    refused = 0
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


def lost(folder: Path, acknowledged: list[str]) -> set[str]:
    engine = open_engine(f"sqlite:///{folder / 'log.sqlite3'}", reach=EVERYWHERE)
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


@pytest.mark.parametrize("fault", FAULTS)
def test_nothing_acknowledged_is_lost_and_it_goes_on(tmp_path, fault):
    acknowledged, refused = written(tmp_path, fault)
    assert len(acknowledged) == ENTRIES
    assert refused > 0
    assert lost(tmp_path, acknowledged) == set()


def test_the_same_errors_catch_a_server_that_takes_a_refusal_for_a_yes(tmp_path):
    acknowledged, _ = written(tmp_path, FAULTS[0], "believing")
    assert lost(tmp_path, acknowledged)
