"""The demo, loaded once for a whole run; each process adds only to a copy of its own."""

import fcntl
import json
import os
import shutil
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from api.app import PROJECTORS, create_app
from api.demo import play
from api.demo.transport import from_test_client
from api.migrations.run import upgrade
from api.settings import Settings
from api.storage import documents, readers
from api.storage.engine import open_engine, read
from api.work.runner import run_once

NOW = datetime(2026, 11, 25, 13, 0, tzinfo=UTC)


class Loaded:
    """A database with the demo in it."""

    def __init__(self, folder: Path) -> None:
        self.settings = replace(
            Settings.from_env({"DOSEBOOK_DATA": str(folder)}), secure_cookies=False
        )
        upgrade(self.settings.database_url)
        self.engine = open_engine(self.settings.database_url)
        # What the first loading answered: a later one loads nothing.
        told = folder / "answer.json"
        if not told.exists():
            told.write_text(json.dumps(self.load()), encoding="utf-8")
        self.answer = json.loads(told.read_text(encoding="utf-8"))
        self.location_id = self.answer["location_id"]

    def load(self):
        return play.load(
            self.settings,
            engine=self.engine,
            open_app=lambda clock: create_app(self.settings, clock=clock),
            projectors=PROJECTORS,
            now=NOW,
            work=run_once,
        )

    def transport(self, clock):
        return from_test_client(create_app(self.settings, clock=clock).test_client())

    def documents(self, kind):
        with read(self.engine) as connection:
            return documents.list(connection, self.location_id, kind)

    def position(self, location_id=None):
        """How far the logs have come: of one location, or the sum of all."""
        if location_id is None:
            return readers.log_position(self.engine)
        with read(self.engine) as connection:
            return readers.location_row(connection, location_id)["position"]


@pytest.fixture(scope="session")
def demo(tmp_path_factory):
    run = tmp_path_factory.getbasetemp()
    if "PYTEST_XDIST_WORKER" in os.environ:
        run = run.parent
    first, own = run / "demo-of-tests", tmp_path_factory.mktemp("demo") / "data"
    with (run / "demo-of-tests.lock").open("w") as lock:
        # Several processes run tests of one run; the first of them loads it.
        fcntl.flock(lock, fcntl.LOCK_EX)
        Loaded(first).engine.dispose()
        shutil.copytree(first, own)
    loaded = Loaded(own)
    yield loaded
    loaded.engine.dispose()
