"""The disk is full: nothing acknowledged is lost, and once there is room again it goes on.

A file system in memory of a fixed size holds the data of a whole served practice. PostgreSQL may
end itself when its log finds no room; whoever looks after it starts it again once there is some.
Needs root.
"""

import os
import shutil
import subprocess
import tempfile
import time
from contextlib import contextmanager
from pathlib import Path

import pytest

from api.audit.verify import verify_log
from api.clock import SystemClock
from api.demo.tablet_client import Refused, TabletClient
from api.demo.transport import from_url
from api.storage import reach
from tests.faults.pg_on_disk import OnDisk
from tests.faults.served import served
from tests.story.test_killed import BROKEN, Hasty
from tests.web.practice import PIN

pytestmark = [
    pytest.mark.long,
    pytest.mark.skipif(os.geteuid() != 0 or not shutil.which("mount"), reason="needs root"),
]
DISK_MB, LEFT_MB = 192, 2
# Some hundred entries fill what is left; a few refusals in a row are no accident.
TEXT, MOST, REFUSALS = "x" * 3_900, 5_000, 3
GOES_ON_S = 120


@pytest.fixture
def disk():
    with tempfile.TemporaryDirectory() as made:
        # The database's own user has to get there.
        Path(made).chmod(0o755)
        command = ["mount", "-t", "tmpfs", "-o", f"size={DISK_MB}m,mode=755", "dosebook", made]
        subprocess.run(command, check=True)
        try:
            yield Path(made)
        finally:
            subprocess.run(["umount", made], check=True)


@contextmanager
def practice(kind: str, disk: Path, beside):
    """Serve a practice whose data lie there; give it, and what brings its database back."""
    if kind == "sqlite":
        with served("sqlite", disk, None) as house:
            yield house, lambda: None
        return
    database = OnDisk(disk, beside)
    database.make()
    database.start()
    try:
        with served("postgresql", disk, database.server()) as house:
            yield house, lambda: None if database.is_running() else database.start()
    finally:
        database.kill()


def fill(tablet: TabletClient, times: int) -> list[Exception]:
    """Record and send until the server refuses so many in a row; return those refusals."""
    refusals: list[Exception] = []
    for number in range(MOST):
        tablet.record("procedure.noted", tablet.new_id(), {"text": f"{number} {TEXT}"})
        try:
            tablet.push()
            refusals = []
        except BROKEN as problem:
            refusals.append(problem)
            if len(refusals) == times:
                return refusals
    raise AssertionError("the disk does not get full")


def go_on(tablet: TabletClient) -> None:
    until = time.monotonic() + GOES_ON_S
    while tablet.waiting():
        assert time.monotonic() < until, "nothing is taken"
        try:
            tablet.push()
        except BROKEN:
            time.sleep(0.1)


def lost(kind: str, disk: Path, beside, tablet_of) -> list[str]:
    """Fill the disk and make room again; return what the tablet took for saved and is not there."""
    with practice(kind, disk, beside) as (house, bring_back):
        tablet = tablet_of(from_url(house.address), SystemClock(), label="Chair")
        tablet.enrol(house.code())
        tablet.sign_in(house.practice.people["clinician"], PIN)
        ballast = disk / "ballast"
        free = shutil.disk_usage(disk).free
        ballast.write_bytes(bytes(free - (LEFT_MB << 20)))
        # Who goes on after a refusal is told of a gap from then on, which is none.
        patient = tablet_of is TabletClient
        refusals = fill(tablet, REFUSALS if patient else 1)
        taken = sum(each.settled for each in tablet.outbox)
        print(f"{taken} taken, then {[str(each)[:80] for each in refusals]}")
        assert taken
        # Told in a way that lets it come again: a status, or no answer at all.
        assert {each.facts["status"] for each in refusals if isinstance(each, Refused)} <= {503}
        ballast.unlink()
        bring_back()
        if patient:
            tablet.record("procedure.noted", tablet.new_id(), {"text": "there is room again"})
            go_on(tablet)
        entries = house.log()
        there = [entry["event_id"] for entry in entries]
        assert len(there) == len(set(there))
        assert [entry["position"] for entry in entries] == list(range(1, len(entries) + 1))
        with reach.within(*reach.EVERYWHERE):
            assert verify_log(house.engine)["ok"]
    saved = [each.item["event_id"] for each in tablet.outbox if each.settled]
    return sorted(set(saved) - set(there))


@pytest.mark.parametrize("kind", ["sqlite", "postgresql"])
def test_nothing_acknowledged_is_lost_and_it_goes_on(kind, disk, postgresql_server):
    assert lost(kind, disk, postgresql_server, TabletClient) == []


@pytest.mark.parametrize("kind", ["sqlite", "postgresql"])
def test_the_same_disk_catches_a_tablet_that_believes_a_refusal(kind, disk, postgresql_server):
    assert lost(kind, disk, postgresql_server, Hasty)
