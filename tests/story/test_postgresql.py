"""Two locations on one PostgreSQL server, served by two processes, from enrolment to the chart."""

import json
import os
import subprocess
import time
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime
from pathlib import Path

import pytest

from api.app import create_app
from api.clock import SteppedClock
from api.demo.desk_client import DeskClient
from api.demo.tablet_client import Refused, TabletClient
from api.demo.transport import from_url
from api.settings import PROTOCOL_VERSION, Settings
from api.storage import reach
from tests.postgresql import LOGIN, OWNER
from tests.story.serving import DOSEBOOK, free_port, wait_until_healthy
from tests.web.practice import PASSWORD, PIN, Practice

pytestmark = pytest.mark.once
WORKERS = 2
BATCHES, SENDS = 10, 6


class Served:
    """A server with two practices, reached over HTTP; set up from the inside."""

    def __init__(self, environment: dict[str, str], address: str, serving_pid: int) -> None:
        self.environment, self.address, self.serving_pid = environment, address, serving_pid
        self.clock = SteppedClock(datetime.now(UTC))
        app = create_app(Settings.from_env(environment), clock=self.clock)
        roles = ("clinician", "front_desk", "administrator")
        self.engine = app.extensions["dosebook"].engine
        with reach.within(*reach.EVERYWHERE):
            self.here = Practice(app, self.clock, name="Here", roles=roles)
            self.there = Practice(app, self.clock, name="There", roles=roles)
            for practice in (self.here, self.there):
                practice.give_secrets("clinician")

    def dosebook(self, *arguments: str) -> str:
        done = subprocess.run(
            [DOSEBOOK, *arguments], env=self.environment, capture_output=True, text=True
        )
        assert done.returncode == 0, done.stderr
        return done.stdout

    def tablet(self, practice: Practice) -> TabletClient:
        code = self.dosebook("tablet", "code", "--json", "--location", practice.location_id)
        made = TabletClient(from_url(self.address), self.clock, label="Chair")
        made.enrol(json.loads(code)["code"])
        made.sign_in(practice.people["clinician"], PIN)
        return made

    def desk(self, practice: Practice) -> DeskClient:
        made = DeskClient(from_url(self.address), self.clock, origin=self.address)
        made.sign_in(practice.sign_in_name("clinician"), PASSWORD)
        return made


def wait_for(ask, *, until_s=60):
    """Return the first answer that is not a refusal: what the worker makes takes a moment."""
    end = time.monotonic() + until_s
    while True:
        try:
            return ask()
        except Refused:
            if time.monotonic() > end:
                raise
            time.sleep(0.1)


@pytest.fixture(scope="module")
def served(postgresql_server, tmp_path_factory):
    name, port = postgresql_server.new_empty(), free_port()
    folder: Path = tmp_path_factory.mktemp("served")
    environment = {
        **os.environ,
        "DATABASE_URL": postgresql_server.url(name, as_role=LOGIN),
        "DATABASE_OWNER_URL": postgresql_server.url(name, as_role=OWNER),
        "DOSEBOOK_DATA": str(folder),
        "PORT": str(port),
        "WEB_CONCURRENCY": str(WORKERS),
    }
    upgraded = subprocess.run([DOSEBOOK, "db", "upgrade"], env=environment, capture_output=True)
    assert upgraded.returncode == 0, upgraded.stderr
    running = [
        subprocess.Popen([DOSEBOOK, each], env=environment, stderr=subprocess.DEVNULL)
        for each in ("serve", "work")
    ]
    try:
        address = f"http://127.0.0.1:{port}"
        wait_until_healthy(address)
        made = Served(environment, address, running[0].pid)
        yield made
        made.engine.dispose()
    finally:
        for process in running:
            process.terminate()
        for process in running:
            process.wait(timeout=120)


def test_from_the_chair_to_the_chart(served):
    tablet = served.tablet(served.here)
    record_id = served.here.signed_record(tablet)
    assert {result["outcome"] for result in tablet.push()} == {"applied"}
    tablet.pull()
    tablet.pull("records")
    assert tablet.documents["record", record_id]["status"] == "signed"
    desk = served.desk(served.here)
    assert desk.ask("GET", f"/records/{record_id}")["record_id"] == record_id
    assert wait_for(lambda: desk.ask("GET", f"/records/{record_id}/pdf")).startswith(b"%PDF")
    health = desk.ask("GET", "/health")
    assert health["database"] == "postgresql"
    report = json.loads(served.dosebook("log", "verify", "--json"))
    assert report["first_bad"] is None
    assert report["entries"] == health["log_position"]
    serving = served.serving_pid
    workers = Path(f"/proc/{serving}/task/{serving}/children").read_text().split()
    assert len(workers) == WORKERS


def test_what_is_of_another_location_is_as_if_it_were_not(served):
    theirs = served.tablet(served.there)
    record_id = served.there.signed_record(theirs, chart_number="C-secret")
    theirs.push()
    ours, desk = served.tablet(served.here), served.desk(served.here)
    ours.pull()
    ours.pull("records")
    assert "C-secret" not in json.dumps(list(ours.documents.values()))
    assert served.there.location_id not in json.dumps(list(ours.documents.values()))
    answers = []
    for asked in (record_id, theirs.new_id()):
        with pytest.raises(Refused) as refused:
            desk.ask("GET", f"/records/{asked}")
        answers.append(refused.value.facts["problem"])
    assert answers[0] == answers[1]
    assert served.desk(served.there).ask("GET", f"/records/{record_id}")["record_id"] == record_id


def test_what_comes_to_two_processes_at_once_counts_once(served):
    """Test 3 of the design of the log, over HTTP: each batch sent six times at once."""
    tablet = served.tablet(served.here)
    record_id = tablet.new_id()
    items = [
        tablet.record("procedure.noted", record_id, {"text": f"note {number}"}).item
        for number in range(BATCHES)
    ]

    def send(item):
        body = {"protocol": PROTOCOL_VERSION, "epoch": tablet.identity["epoch"], "items": [item]}
        return tablet.ask("POST", "/sync/push", body)["results"][0]

    with ThreadPoolExecutor(SENDS) as pool:
        for item in items:
            results = list(pool.map(send, [item] * SENDS))
            outcomes = sorted(result["outcome"] for result in results)
            assert outcomes == ["applied", *["duplicate"] * (SENDS - 1)]
            assert len({result["position"] for result in results}) == 1
    assert "hold" in served.dosebook("log", "verify")
