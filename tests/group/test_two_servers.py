"""Two real servers: gunicorn at the group, the practice's commands and its process, kill -9.

The short form, inside one process, is in ``test_commands``.
"""

import json
import os
import shutil
import signal
import subprocess
import time
import urllib.request

import pytest

from api.app import PROJECTORS
from api.storage import documents, followed, replication
from api.storage.engine import open_engine, read
from api.sync import desk, server_key
from tests.story.serving import DOSEBOOK, free_port, wait_until_healthy
from tests.web.test_lists import version


class Machine:
    """A machine on which `dosebook` is run in a folder of its own."""

    def __init__(self, folder, port=None):
        folder.mkdir(exist_ok=True)
        self.folder, self.port = folder, port or free_port()
        self.environment = {**os.environ, "DOSEBOOK_DATA": str(folder), "PORT": str(self.port)}
        for name in ("DATABASE_URL", "DOSEBOOK_BACKUPS"):
            self.environment.pop(name, None)
        self.running = []

    @property
    def address(self):
        return f"http://127.0.0.1:{self.port}"

    def __call__(self, *arguments, typed=""):
        return subprocess.run(
            [DOSEBOOK, *arguments],
            env=self.environment,
            input=typed,
            capture_output=True,
            text=True,
            timeout=120,
        )

    def start(self, *arguments):
        process = subprocess.Popen(
            [DOSEBOOK, *arguments],
            env=self.environment,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            start_new_session=True,
        )
        self.running.append(process)
        return process

    def kill(self, process):
        """End it as a power cut would, with all its own."""
        os.killpg(process.pid, signal.SIGKILL)
        process.wait(timeout=60)
        self.running.remove(process)

    def stop(self):
        for process in self.running:
            process.terminate()
        for process in self.running:
            process.wait(timeout=60)

    def engine(self):
        return open_engine(f"sqlite:///{self.folder / 'dosebook.sqlite3'}", reach=("*",))


@pytest.fixture
def group(tmp_path, migrated_template):
    """A group's server, served by gunicorn."""
    made = Machine(tmp_path / "served")
    shutil.copy(migrated_template, made.folder / "dosebook.sqlite3")
    made.serving = made.start("serve")
    wait_until_healthy(made.address)
    yield made
    made.stop()


@pytest.fixture
def here(strangers, settings):
    """The practice's own machine, with the practice that the test plays on."""
    made = Machine(settings.data_dir)
    yield made
    made.stop()


def log_of(engine, location_id):
    from api.storage import readers

    with read(engine) as connection:
        return readers.stored_after(connection, location_id, 0, limit=10**6)


def until(holds):
    """Wait for something that another process does."""
    end = time.monotonic() + 120
    while not holds():
        assert time.monotonic() < end
        time.sleep(0.05)


@pytest.mark.long
def test_from_joining_to_coming_back_after_a_fire(strangers, here, group, tmp_path):
    two = strangers
    code = group("group", "code").stdout.strip()
    assert len(code) == 31
    joined = here("replicate", "join", group.address, code)
    assert joined.returncode == 0, joined.stderr
    assert "follows Lantern Dental from now on" in joined.stdout
    once = here("replicate", "--once", "--json")
    assert once.returncode == 0, once.stderr
    position = json.loads(once.stdout)["sent"]
    status = json.loads(here("replicate", "status", "--json").stdout)
    [location] = status["locations"]
    assert (location["waiting"], location["position"]) == (0, position)
    with urllib.request.urlopen(f"{group.address}/api/v1/health") as answer:
        assert json.load(answer)["log_position"] == position

    practices = json.loads(group("group", "list", "--json").stdout)["practices"]
    restore = group("group", "restore-code", practices[0]["practice_id"])
    new = Machine(tmp_path / "new")
    back = new(
        "restore",
        "--from-group",
        group.address,
        "--code",
        restore.stdout.strip(),
        "--who",
        "Moss Standin",
        "--why",
        "the house burned",
        typed=two.words,
    )
    assert back.returncode == 0, back.stderr
    assert f"goes on after entry {position}" in back.stdout
    assert new("log", "verify").returncode == 0
    engine = new.engine()
    mine = log_of(two.house.engine, two.practice.location_id)
    assert log_of(engine, two.practice.location_id)[:-1] == mine
    engine.dispose()
    # It is the practice again: the group goes on with it.
    assert new("replicate", "--once").returncode == 0


@pytest.mark.long
def test_both_sides_are_killed_again_and_again(strangers, here, group):
    two = strangers
    tablet = two.practice.tablet()
    tablet.person = {"person_id": two.practice.people["clinician"]}
    record_id = tablet.new_id()
    assert here("replicate", "join", group.address, group("group", "code").stdout.strip())

    def waiting():
        with read(two.house.engine) as connection:
            return replication.lags(connection)[0]["waiting"]

    location_id = two.practice.location_id
    for turn in range(6):
        for number in range(120):
            tablet.record("procedure.noted", record_id, {"text": f"{turn}.{number}"})
        tablet.push()
        before = waiting()
        process = here.start("replicate")
        until(lambda at_first=before: waiting() < at_first)
        if turn % 2:
            here.kill(process)
        else:
            group.kill(group.serving)
            group.serving = group.start("serve")
            wait_until_healthy(group.address)
            here.kill(process)
    process = here.start("replicate")
    until(lambda: waiting() == 0)
    engine = group.engine()
    assert log_of(engine, location_id) == log_of(two.house.engine, location_id)
    with read(engine) as connection:
        assert followed.get(connection, location_id)["state"] == followed.CURRENT
    engine.dispose()
    assert group("log", "verify").returncode == 0


@pytest.mark.long
def test_what_is_rolled_out_comes_down_over_the_wire_once(strangers, here, group, clock):
    two, engine = strangers, group.engine()
    made = {
        "server_key": server_key.load(group.folder / "server_key.pem"),
        "projectors": PROJECTORS,
        "clock": clock,
    }
    place = {"name": "Head office", "practice_name": "Lantern Group", "zone": "UTC", "rooms": []}
    location_id = desk.open_location(engine, payload=place, **made)["location_id"]
    content = {**version(1), "needs_acknowledgement": None, "within_s": None}
    desk.append_as_desk(
        engine,
        location_id=location_id,
        actor_id=None,
        type="rollout.made",
        entity_id="rollout-1",
        payload={"source_id": "l1", "version": 1, "title": "Time-out", "list": content},
        idempotency_key="rolled out",
        zone="UTC",
        **made,
    )
    engine.dispose()
    assert here("replicate", "join", group.address, group("group", "code").stdout.strip())
    first, second = here("replicate", "--once"), here("replicate", "--once")
    assert (first.returncode, second.returncode) == (0, 0), first.stderr + second.stderr
    assert "The group offers something new" in first.stderr
    assert "The group offers something new" not in second.stderr
    mine, engine = two.practice.location_id, group.engine()
    for at in (two.house.engine, engine):
        # At the practice, and at the group in the copy of the practice's log.
        with read(at) as connection:
            offer = documents.get(connection, mine, "offer", "rollout-1")
        assert (offer["state"], offer["group_name"]) == ("open", "Lantern Group")
    assert log_of(engine, mine) == log_of(two.house.engine, mine)
    engine.dispose()
    assert here("log", "verify").returncode == group("log", "verify").returncode == 0
