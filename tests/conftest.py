"""What every test may ask for: a migrated database file, a clock that is stepped, the program."""

import shutil
from datetime import UTC, datetime
from pathlib import Path

import pytest

from api.app import create_app
from api.clock import SteppedClock
from api.migrations.run import upgrade
from api.settings import Settings

START = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)


@pytest.fixture(scope="session")
def migrated_template(tmp_path_factory) -> Path:
    """An empty database, migrated once; tests work on copies."""
    path = tmp_path_factory.mktemp("template") / "dosebook.sqlite3"
    upgrade(f"sqlite:///{path}")
    return path


def server_settings(folder: Path, template: Path) -> Settings:
    """Settings of a server whose database is migrated and empty, and whose pages are not built."""
    database = folder / "dosebook.sqlite3"
    shutil.copy(template, database)
    return Settings(
        data_dir=folder,
        database_url=f"sqlite:///{database}",
        server_key_path=folder / "server_key.pem",
        static_dir=folder / "dist",
        secure_cookies=False,
    )


@pytest.fixture
def settings(tmp_path, migrated_template) -> Settings:
    """Settings of a server of the test's own."""
    return server_settings(tmp_path, migrated_template)


@pytest.fixture
def clock() -> SteppedClock:
    """A clock that moves only when told to."""
    return SteppedClock(START)


@pytest.fixture
def app(settings, clock):
    """The application on its own database."""
    made = create_app(settings, clock=clock)
    yield made
    made.extensions["dosebook"].engine.dispose()


@pytest.fixture
def client(app):
    """A browser or tablet that talks to the application."""
    return app.test_client()
