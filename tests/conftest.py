"""What every test may ask for: a migrated database file, a clock that is stepped, the program."""

import shutil
from collections import Counter
from datetime import UTC, datetime
from pathlib import Path

import pytest
from werkzeug.routing import Rule

from api.app import create_app
from api.clock import SteppedClock
from api.migrations.run import upgrade
from api.people import secrets
from api.settings import Settings
from tests import postgresql
from tests.haste import LEAST
from tests.replay import pytest_runtest_protocol, pytest_terminal_summary  # noqa: F401

START = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)


@pytest.fixture(scope="session", autouse=True)
def in_haste():
    """Do at its least what a run does thousands of times; give what the program has of its own."""
    own = {name: getattr(secrets, name) for name in ("_HASHER", "_NOBODY")}
    compile_now = Rule._compile_builder

    def compile_when_built(rule: Rule, append_unknown: bool = True):
        # What writes a route's address is half of making an application, and seldom called.
        return lambda self, **values: compile_now(rule, append_unknown)(self, **values)

    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(secrets, "_HASHER", LEAST)
        patched.setattr(secrets, "_NOBODY", LEAST.hash("nobody"))
        patched.setattr(Rule, "_compile_builder", compile_when_built)
        yield own


@pytest.fixture(scope="session")
def migrated_template(tmp_path_factory) -> Path:
    """An empty database, migrated once; tests work on copies."""
    path = tmp_path_factory.mktemp("template") / "dosebook.sqlite3"
    upgrade(f"sqlite:///{path}")
    return path


def server_settings(folder: Path, template: Path, *, database_url: str | None = None) -> Settings:
    """Settings of a server whose database is migrated and empty, and whose pages are not built."""
    if database_url is None:
        database = folder / "dosebook.sqlite3"
        shutil.copy(template, database)
        database_url = f"sqlite:///{database}"
    return Settings(
        data_dir=folder,
        database_url=database_url,
        server_key_path=folder / "server_key.pem",
        static_dir=folder / "dist",
        secure_cookies=False,
        # Here a hundred requests come in what the clock takes for one moment.
        limit_factor=1000,
    )


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Begin with the stories, the longest file first: short tests fill what is left at the end.

    Of the other files those with the fewest tests come first, because theirs are the long ones:
    hundreds of tests in one file take a second or two, a single one may take a minute.
    The first one loads the demo. Those that need none come next, so that no worker waits for it.
    """
    length = Counter(item.path for item in items)
    needs_demo = {item.path for item in items if "loaded" in getattr(item, "fixturenames", ())}

    def turn(item: pytest.Item) -> tuple[bool, int, str]:
        story = item.path.parent.name == "story"
        return not story, -length[item.path] if story else length[item.path], str(item.path)

    items.sort(key=turn)
    first = next((item.path for item in items if item.path in needs_demo), None)

    def who_waits(item: pytest.Item) -> int:
        if item.path == first:
            return 0
        return 2 if item.path in needs_demo or item.path.parent.name != "story" else 1

    items.sort(key=who_waits)


def pytest_generate_tests(metafunc):
    """Run what is marked so on either database, where it uses one.

    ``both_databases(long=True)`` leaves PostgreSQL to the long check.
    """
    marked = metafunc.definition.get_closest_marker("both_databases")
    if marked is not None and "database_url" in metafunc.fixturenames:
        marks = [pytest.mark.long] if marked.kwargs.get("long") else []
        server = pytest.param("postgresql", marks=marks)
        metafunc.parametrize("database_url", ["sqlite", server], indirect=True)


@pytest.fixture(scope="session")
def postgresql_server():
    """A PostgreSQL server, started when a test first asks for it."""
    with postgresql.running() as server:
        yield server


@pytest.fixture
def database_url(request, tmp_path, migrated_template) -> str:
    """An empty, migrated database: an SQLite file, or both in turn under ``both_databases``."""
    if getattr(request, "param", "sqlite") == "postgresql":
        server = request.getfixturevalue("postgresql_server")
        return server.url(server.emptied())
    path = tmp_path / "dosebook.sqlite3"
    shutil.copy(migrated_template, path)
    return f"sqlite:///{path}"


@pytest.fixture
def settings(tmp_path, migrated_template, database_url) -> Settings:
    """Settings of a server of the test's own."""
    return server_settings(tmp_path, migrated_template, database_url=database_url)


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
