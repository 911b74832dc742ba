"""Restored from an older backup with three tablets, one of them enrolled after it.

The tablets are their own program under vitest (``pwa/tests/live/restore.live.ts``), the server
is a real one on a socket; what whoever looks after it does is asked for by addresses of the test.
"""

import os
import subprocess
import threading
from collections import Counter
from dataclasses import replace
from pathlib import Path

import pytest
from sqlalchemy import make_url
from werkzeug.middleware.dispatcher import DispatcherMiddleware
from werkzeug.serving import make_server
from werkzeug.wrappers import Request, Response

from api.app import PROJECTORS
from api.audit.verify import verify_log
from api.backup import restoring
from api.people import tablets
from api.storage import accounts, backups, reach, readers
from api.storage.engine import read, write
from api.sync import desk
from tests import postgresql
from tests.web.practice import ZONE

PWA = Path(__file__).resolve().parents[2] / "pwa"
LIVE = ["run", "--config", "tests/live/vitest.config.ts", "tests/live/restore.live.ts"]


class Keeper:
    """Whoever looks after the server."""

    def __init__(self, practice, settings, clock, make) -> None:
        self.practice, self.settings, self.clock, self.make = practice, settings, clock, make
        self.engine = practice.house.engine

    def code(self) -> str:
        return self.practice.code()

    def backup(self) -> str:
        self.made = self.make()
        return ""

    def desk(self) -> str:
        self._append("procedure_kind.listed", "kind-late", {"text": "Done at a desk", "code": None})
        return ""

    def restore(self) -> str:
        self.engine.dispose()
        restoring.restore(
            self.settings,
            self.clock,
            self.practice.house.random,
            folder=Path(self.made["path"]),
            who="Whoever looks after the server",
            why="the disk broke",
            replace=True,
            ask_recovery_key=lambda: "",
            projectors=PROJECTORS,
        )
        return ""

    def confirm(self) -> str:
        location_id = self.practice.location_id
        with write(self.engine) as connection:
            for row in accounts.tablets(connection, location_id):
                if row["unconfirmed"]:
                    tablets.confirm(connection, location_id=location_id, tablet_id=row["tablet_id"])
        return ""

    def _append(self, type: str, entity_id: str, payload: dict) -> None:
        desk.append_as_desk(
            self.engine,
            self.clock,
            self.practice.house.server_key,
            location_id=self.practice.location_id,
            actor_id=None,
            type=type,
            entity_id=entity_id,
            payload=payload,
            idempotency_key=entity_id,
            projectors=PROJECTORS,
            zone=ZONE,
        )

    @Request.application
    def __call__(self, request: Request) -> Response:
        # A thread of the server's own, where nobody has said yet what may be reached.
        with reach.within(*reach.EVERYWHERE):
            return Response(getattr(self, request.path.strip("/"))())


@pytest.fixture
def keeper(practice, settings, clock, make, app, request, database_url):
    if not database_url.startswith("sqlite"):
        server = request.getfixturevalue("postgresql_server")
        owner_url = server.url(make_url(database_url).database, as_role=postgresql.OWNER)
        settings = replace(settings, database_owner_url=owner_url)
    made = Keeper(practice, settings, clock, make)
    server = make_server("127.0.0.1", 0, DispatcherMiddleware(app, {"/test": made}), threaded=True)
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    made.address = f"http://127.0.0.1:{server.server_port}"
    yield made
    server.shutdown()
    thread.join()
    server.server_close()


def run_tablets(keeper) -> subprocess.CompletedProcess:
    facts = {
        "DOSEBOOK_URL": keeper.address,
        "DOSEBOOK_PERSON": keeper.practice.people["clinician"],
        "DOSEBOOK_NOW_MS": str(int(keeper.clock.now().timestamp() * 1000)),
        "NO_COLOR": "1",
    }
    return subprocess.run(
        [PWA / "node_modules" / ".bin" / "vitest", *LIVE],
        cwd=PWA,
        env={**os.environ, **facts},
        capture_output=True,
        text=True,
        timeout=300,
    )


@pytest.mark.both_databases(long=True)
def test_everything_comes_back_once_and_nobody_is_alarmed(keeper):
    done = run_tablets(keeper)
    assert done.returncode == 0, done.stdout + done.stderr
    location_id = keeper.practice.location_id
    with read(keeper.engine) as connection:
        entries = readers.entries_after(connection, location_id, 0, limit=1_000)
        epoch = readers.location_row(connection, location_id)["epoch"]
        returning = backups.returning(connection, location_id, epoch=epoch)
    texts = Counter(
        (entry["payload"]["text"], entry["verdict"])
        for entry in entries
        if entry["body"]["type"] == "procedure.noted"
    )
    expected = {f"{name} before {n}": "applied" for name in "AB" for n in range(3)}
    expected |= {f"A after {n}": "applied" for n in range(3)}
    expected |= {f"B after {n}": "applied" for n in range(2)}
    # Of the tablet that the restored server did not know, until somebody has looked at them.
    expected |= {f"C after {n}": "quarantined" for n in range(4)}
    assert texts == Counter(expected.items())
    assert sorted((each["named"], each["came"]) for each in returning) == [(2, 2), (3, 3), (4, 4)]
    assert verify_log(keeper.engine)["ok"]


@pytest.mark.long
@pytest.mark.both_databases
def test_a_restore_that_says_nothing_is_an_alarm_and_brings_nothing_back(keeper, monkeypatch):
    """The stub: the backup is put in place, and the log goes on as if nothing had been."""
    monkeypatch.setattr(restoring, "_begin_epochs", lambda *_arguments, **_more: [])
    done = run_tablets(keeper)
    assert done.returncode != 0
    assert "log_changed" in done.stdout + done.stderr
    with read(keeper.engine) as connection:
        entries = readers.entries_after(connection, keeper.practice.location_id, 0, limit=1_000)
    texts = [entry["payload"].get("text", "") for entry in entries]
    assert not [text for text in texts if text.startswith(("A after", "B after"))]
