"""Server and database killed under load, again and again: nothing lost, nothing doubled, soon back.

SIGKILL leaves no time for anything. What the operating system has taken from a process outlives
it, so that this shows recovery, not what a power cut would leave. The ten seconds within which it
has to be back are this project's own choice; on a machine that has no time for anything else, four
times what it takes there meanwhile to start one more server, which has nothing to recover from.
"""

import http.client
import json
import os
import random
import signal
import statistics
import subprocess
import threading
import time
from pathlib import Path

import psutil
import pytest

from api.app import create_app
from api.audit.verify import verify_log
from api.clock import SystemClock
from api.demo.tablet_client import Refused, TabletClient
from api.demo.transport import from_url
from api.settings import Settings
from api.storage import reach, readers
from api.storage.engine import read
from tests import postgresql
from tests.story.serving import DOSEBOOK, free_port, wait_until_healthy
from tests.web.practice import PIN, Practice

pytestmark = pytest.mark.once
CYCLES = 100
RECOVERY_S = 10
# How often one more is started, to see what a start takes here just now.
CALM_EVERY = 10
CAREFUL, HASTY = 3, 1
# An answer that did not come, or came cut off, or says that the database is away.
BROKEN = (OSError, http.client.HTTPException, ValueError, Refused)


class Hasty(TabletClient):
    """The known-bad one: what it has sent it takes for saved, answer or none."""

    def push(self):
        batch = self._next_batch()
        try:
            return super().push()
        except BROKEN:
            for event in batch:
                event.result = {"outcome": "applied"}
            raise


class Killable:
    """A served practice whose processes are killed and started again."""

    def __init__(self, folder: Path, database: postgresql.Server | None) -> None:
        self.port = free_port()
        self.environment = {
            **os.environ,
            "DOSEBOOK_DATA": str(folder),
            "PORT": str(self.port),
            "WEB_CONCURRENCY": "2",
            "DOSEBOOK_LIMIT_FACTOR": "1000000",
        }
        self.environment.pop("DATABASE_URL", None)
        self.database = database
        if database is not None:
            name = database.new_empty()
            self.environment |= {
                "DATABASE_URL": database.url(name, as_role=postgresql.LOGIN),
                "DATABASE_OWNER_URL": database.url(name, as_role=postgresql.OWNER),
            }
            [[data]] = database.run("SHOW data_directory")
            self.data = Path(data)
        subprocess.run([DOSEBOOK, "db", "upgrade"], env=self.environment, check=True)
        app = create_app(Settings.from_env(self.environment), clock=SystemClock())
        self.engine = app.extensions["dosebook"].engine
        with reach.within(*reach.EVERYWHERE):
            self.practice = Practice(app, SystemClock(), roles=("clinician",))
            self.practice.give_secrets("clinician")
            codes = [self.practice.code() for _ in range(CAREFUL + HASTY)]
        self.start()
        self.tablets = [
            (Hasty if number >= CAREFUL else TabletClient)(
                from_url(f"http://127.0.0.1:{self.port}"), SystemClock(), label=f"Chair {number}"
            )
            for number in range(CAREFUL + HASTY)
        ]
        for tablet, code in zip(self.tablets, codes, strict=True):
            tablet.enrol(code)
            tablet.sign_in(self.practice.people["clinician"], PIN)

    def start(self) -> None:
        self.serving = self._serve(self.port)

    def calm_start_s(self) -> float:
        """Start one more server beside and end it; return how long that took [s]."""
        began = time.monotonic()
        beside = self._serve(free_port())
        took = time.monotonic() - began
        os.killpg(beside.pid, signal.SIGTERM)
        beside.wait(timeout=120)
        return took

    def _serve(self, port: int) -> subprocess.Popen:
        serving = subprocess.Popen(
            [DOSEBOOK, "serve"],
            env=self.environment | {"PORT": str(port)},
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            start_new_session=True,
        )
        wait_until_healthy(f"http://127.0.0.1:{port}")
        return serving

    def kill_server(self) -> None:
        os.killpg(self.serving.pid, signal.SIGKILL)
        self.serving.wait(timeout=30)

    def kill_database(self) -> None:
        """Kill every process of the database server, its parent first."""
        parent = psutil.Process(self._database_pid())
        family = [parent, *parent.children(recursive=True)]
        for process in family:
            try:
                process.kill()
            except psutil.NoSuchProcess:
                continue
        psutil.wait_procs(family, timeout=30)

    def start_database(self) -> None:
        words = (self.data / "postmaster.opts").read_text().split(maxsplit=1)
        options = words[1].strip() if len(words) > 1 else ""
        command = [self.database.programs / "pg_ctl", "-w", "-D", self.data, "-o", options]
        owner = self.data.stat()
        done = subprocess.run(
            [*command, "-l", self.data / "killed.log", "start"],
            user=owner.st_uid,
            group=owner.st_gid,
            cwd="/",
            stdout=subprocess.DEVNULL,
        )
        assert done.returncode == 0
        wait_until_healthy(f"http://127.0.0.1:{self.port}")

    def _database_pid(self) -> int:
        return int((self.data / "postmaster.pid").read_text().split()[0])

    def stop(self) -> None:
        self.engine.dispose()
        if self.serving.poll() is None:
            self.kill_server()
        if self.database is not None:
            self.kill_database()

    def log(self) -> list[dict]:
        with read(self.engine, locations=[self.practice.location_id]) as connection:
            found: list[dict] = []
            while page := readers.entries_after(
                connection, self.practice.location_id, len(found), limit=1000
            ):
                found += page
        return found


@pytest.fixture(params=["sqlite", "postgresql"])
def killable(request, tmp_path):
    if request.param == "sqlite":
        made = Killable(tmp_path, None)
        yield made
        made.stop()
        return
    with postgresql.running() as database:
        made = Killable(tmp_path, database)
        yield made
        made.stop()


def work(tablet: TabletClient, until: threading.Event) -> None:
    """Record and send without a pause; whatever goes wrong, go on with what still waits."""
    record_id = tablet.new_id()
    while not until.is_set():
        if len(tablet.waiting()) < 20:
            tablet.record("procedure.noted", record_id, {"text": f"note {len(tablet.outbox)}"})
        try:
            tablet.push()
        except BROKEN:
            until.wait(0.02)


def sent(killable: Killable) -> int:
    return sum(len(one.outbox) - len(one.waiting()) for one in killable.tablets[:CAREFUL])


def under_load(killable: Killable, more: int) -> None:
    """Return when the server has taken ``more`` entries than it had."""
    until, deadline = sent(killable) + more, time.monotonic() + 60
    while sent(killable) < until:
        assert time.monotonic() < deadline, "nothing more is taken"
        time.sleep(0.01)


@pytest.mark.long
def test_nothing_is_lost_or_doubled(killable):
    chance = random.Random(20261128)
    over = threading.Event()
    threads = [threading.Thread(target=work, args=(one, over)) for one in killable.tablets]
    for thread in threads:
        thread.start()
    took: dict[str, list[float]] = {"server": [], "database": []}
    calm: list[float] = []
    try:
        for cycle in range(CYCLES):
            if cycle % CALM_EVERY == 0:
                calm.append(killable.calm_start_s())
            under_load(killable, 10)
            # Anywhere in a request, not only at its end.
            time.sleep(chance.uniform(0, 0.05))
            began = time.monotonic()
            if killable.database is not None and cycle % 2:
                killable.kill_database()
                killable.start_database()
                took["database"].append(time.monotonic() - began)
            else:
                killable.kill_server()
                killable.start()
                took["server"].append(time.monotonic() - began)
    finally:
        over.set()
        for thread in threads:
            thread.join(timeout=120)
    for tablet in killable.tablets[:CAREFUL]:
        tablet.push()
        assert tablet.waiting() == []
    entries = killable.log()
    times: dict[str, int] = {}
    for entry in entries:
        times[entry["event_id"]] = times.get(entry["event_id"], 0) + 1
    assert set(times.values()) == {1}
    assert [entry["position"] for entry in entries] == list(range(1, len(entries) + 1))
    for tablet in killable.tablets[:CAREFUL]:
        # Bytes and all, in the order in which they were made.
        mine = [json.loads(event.item["body"]) for event in tablet.outbox]
        theirs = [
            entry["body"]
            for entry in entries
            if entry["body"]["tablet_id"] == tablet.identity["tablet_id"]
        ]
        assert theirs == mine
        at = {entry["event_id"]: entry["position"] for entry in entries}
        for event in tablet.outbox:
            assert event.result["position"] == at[event.item["event_id"]]
    with reach.within(*reach.EVERYWHERE):
        assert verify_log(killable.engine)["ok"]
    for what, each in [*took.items(), ("start of one more", calm)]:
        if each:
            print(f"{what}: median {statistics.median(each):.2f} s, slowest {max(each):.2f} s")
    slowest = max(max(each) for each in took.values() if each)
    assert slowest < max(RECOVERY_S, 4 * max(calm)), took
    lost = [
        event
        for tablet in killable.tablets[CAREFUL:]
        for event in tablet.outbox
        if event.settled and event.item["event_id"] not in times
    ]
    print(f"{CYCLES} kills, {len(entries)} entries, {len(lost)} lost by the hasty one")
    assert lost
