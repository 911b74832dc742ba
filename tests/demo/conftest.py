"""The demo, loaded once for all tests here: they only add to it."""

from dataclasses import replace
from datetime import UTC, datetime

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

    def __init__(self, folder) -> None:
        self.settings = replace(
            Settings.from_env({"DOSEBOOK_DATA": str(folder)}), secure_cookies=False
        )
        upgrade(self.settings.database_url)
        self.engine = open_engine(self.settings.database_url)
        self.answer = self.load()
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

    def position(self):
        return readers.log_position(self.engine)


@pytest.fixture(scope="session")
def demo(tmp_path_factory):
    loaded = Loaded(tmp_path_factory.mktemp("demo"))
    yield loaded
    loaded.engine.dispose()
