"""Server and database killed under load, again and again: nothing lost, nothing doubled, soon back.

SIGKILL leaves no time for anything. What the operating system has taken from a process outlives
it, so that this shows recovery, not what a power cut would leave. The ten seconds within which it
has to be back are this project's own choice; on a machine that has no time for anything else, four
times what it takes there meanwhile to start one more server, which has nothing to recover from.

The long form starts all as whoever looks after a server does. The short one forks it off a process
that has imported the program, because what is asked here is what a kill leaves.
"""

import http.client
import json
import os
import random
import shutil
import signal
import statistics
import subprocess
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager, nullcontext
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
from tests.story import forked
from tests.story.serving import DOSEBOOK, free_port, wait_until_healthy
from tests.story.serving import start as start_forked
from tests.web.practice import PIN, Practice

pytestmark = pytest.mark.once
KILLS = 100
# On PostgreSQL one of the server and one of its database.
FEW_KILLS = {"sqlite": 3, "postgresql": 2}
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


def kill_family(process_id: int) -> list[psutil.Process]:
    """Kill a process and all that it has started, itself first; return them."""
    parent = psutil.Process(process_id)
    family = [parent, *parent.children(recursive=True)]
    for process in family:
        try:
            process.kill()
        except psutil.NoSuchProcess:
            continue
    return family


class Killable:
    """A served practice whose processes are killed and started again."""

    def __init__(self, folder: Path, database: postgresql.Server | None, *, kills: int) -> None:
        self.kills = kills
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
            name = self._new_database(database)
            self.environment |= {
                "DATABASE_URL": database.url(name, as_role=postgresql.LOGIN),
                "DATABASE_OWNER_URL": database.url(name, as_role=postgresql.OWNER),
            }
            [[data]] = database.run("SHOW data_directory")
            self.data = Path(data)
        self._migrate(folder)
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
        self._end(beside)
        return took

    def _new_database(self, database: postgresql.Server) -> str:
        return database.new_empty()

    def _migrate(self, _folder: Path) -> None:
        subprocess.run([DOSEBOOK, "db", "upgrade"], env=self.environment, check=True)

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

    def _end(self, beside: subprocess.Popen) -> None:
        os.killpg(beside.pid, signal.SIGTERM)
        beside.wait(timeout=120)

    def is_serving(self) -> bool:
        return self.serving.poll() is None

    def kill_server(self) -> None:
        os.killpg(self.serving.pid, signal.SIGKILL)
        self.serving.wait(timeout=30)

    def kill_database(self) -> None:
        """Kill every process of the database server, its parent first."""
        # It does not start again while a number it had is not free.
        psutil.wait_procs(kill_family(self._database_pid()), timeout=30)

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
        if self.is_serving():
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


class QuicklyMade(Killable):
    """One whose database was migrated before, and whose processes need not import the program."""

    def __init__(self, *how, template: Path, **more) -> None:
        self.template = template
        super().__init__(*how, **more)

    def _new_database(self, database: postgresql.Server) -> str:
        return database.new_migrated()

    def _migrate(self, folder: Path) -> None:
        if self.database is None:
            shutil.copy(self.template, folder / "dosebook.sqlite3")

    def _serve(self, port: int) -> forked.Running:
        running = start_forked("serve", self.environment | {"PORT": str(port)})
        wait_until_healthy(f"http://127.0.0.1:{port}")
        return running

    def _end(self, beside: forked.Running) -> None:
        # Asked to end while its second worker begins, it may wait 20 s for one that did not hear.
        kill_family(beside.pid)
        beside.join(timeout=30)

    def is_serving(self) -> bool:
        return self.serving.exitcode is None

    def kill_server(self) -> None:
        self._end(self.serving)


@contextmanager
def database_of(kind: str) -> Iterator[postgresql.Server | None]:
    """A database server of the test's own, which it may kill; on SQLite there is none."""
    with nullcontext() if kind == "sqlite" else postgresql.running() as database:
        yield database


@pytest.fixture(params=FEW_KILLS)
def killed_seldom(request, tmp_path, migrated_template):
    with database_of(request.param) as database:
        kills = FEW_KILLS[request.param]
        made = QuicklyMade(tmp_path, database, kills=kills, template=migrated_template)
        yield made
        made.stop()


@pytest.fixture(params=["sqlite", "postgresql"])
def killed_often(request, tmp_path):
    with database_of(request.param) as database:
        made = Killable(tmp_path, database, kills=KILLS)
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


def kill_under_load(killable: Killable) -> None:
    """Kill again and again while four tablets send; look for what is lost, doubled or late."""
    chance = random.Random(20261128)
    over = threading.Event()
    threads = [threading.Thread(target=work, args=(one, over)) for one in killable.tablets]
    for thread in threads:
        thread.start()
    took: dict[str, list[float]] = {"server": [], "database": []}
    calm: list[float] = []
    try:
        for cycle in range(killable.kills):
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
    print(f"{killable.kills} kills, {len(entries)} entries, {len(lost)} lost by the hasty one")
    assert lost


def test_a_few_kills_lose_and_double_nothing(killed_seldom):
    kill_under_load(killed_seldom)


@pytest.mark.long
def test_nothing_is_lost_or_doubled(killed_often):
    kill_under_load(killed_often)
