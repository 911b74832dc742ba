"""A practice and a group server, each with its own database, joined by a wire that can be cut."""

import shutil
from collections.abc import Callable
from contextlib import contextmanager
from dataclasses import dataclass, field, replace

import pytest

from api.app import create_app
from api.audit.verify import verify_log
from api.backup import keys
from api.group import joined, joining, link
from api.group.practice import Practice as Side
from api.storage import followed, reach, readers, tables
from api.storage.engine import open_engine, read, write
from api.sync import server_key
from api.web import context
from api.web.leases import Leases
from api.work.replication import Replication
from tests.conftest import server_settings
from tests.web.practice import Practice, settled


@pytest.fixture(autouse=True)
def reaching():
    """Let the test itself reach everything, as whoever sits at the server does."""
    with reach.within(*reach.EVERYWHERE):
        yield


@dataclass
class Wire:
    """Carries requests to an application; ``spoil`` may change, lose or double what it carries."""

    app: object
    asked: list[str] = field(default_factory=list)
    spoil: Callable | None = None

    def __call__(self, path, body, headers):
        self.asked.append(path)
        return (self.spoil or type(self).carry)(self, path, body, headers)

    def carry(self, path, body, headers):
        """Carry a request there and its answer back."""
        answer = self.app.test_client().post(path, data=body, headers=dict(headers))
        return answer.status_code, answer.data


def side_of(house) -> Side:
    """What the practice's side works with on this server."""
    return Side(
        engine=house.engine,
        clock=house.clock,
        server_key=house.server_key,
        random=house.random,
        projectors=house.projectors,
    )


@dataclass
class Two:
    """Both servers, and what one does with them."""

    practice: Practice
    group_app: object
    wire: Wire
    settings: object
    clock: object
    words: str = ""

    @property
    def house(self):
        return self.practice.house

    @property
    def group(self):
        return self.group_app.extensions["dosebook"]

    def code(self, purpose=joining.JOIN, practice_id=None) -> str:
        with write(self.group.engine) as connection:
            return joining.make_code(
                connection,
                self.clock,
                self.group.random,
                self.group.server_key,
                purpose=purpose,
                practice_id=practice_id,
            )["code"]

    def join(self, code: str | None = None):
        return joined.join(
            self.settings,
            self.house.engine,
            self.clock,
            self.house.random,
            self.house.server_key,
            send=self.wire,
            address="http://localhost",
            code=code or self.code(),
        )

    def replication(self, **more) -> Replication:
        return Replication(
            self.settings,
            self.house.engine,
            self.clock,
            projectors=self.house.projectors,
            send=self.wire,
            chance=lambda: 1.0,
            **more,
        )

    def once(self) -> dict:
        return self.replication().once()

    def histories(self, location_id=None) -> list[dict]:
        to = link.get(self.settings)
        with read(self.group.engine) as connection:
            return followed.histories(
                connection, to.practice_id, location_id or self.practice.location_id
            )

    def rows(self, engine, location_id) -> list[dict]:
        """Every stored row of a log, as it is stored but for where it is kept."""
        with read(engine) as connection:
            found = readers.stored_after(connection, location_id, 0, limit=10**6)
        return [{**row, "location_id": None} for row in found]

    def same(self) -> bool:
        """Whether the group's log in force is the practice's, to the last byte, and both hold."""
        location_id = self.practice.location_id
        [current] = [one for one in self.histories() if one["state"] == followed.CURRENT]
        mine = self.rows(self.house.engine, location_id)
        theirs = self.rows(self.group.engine, current["location_id"])
        assert verify_log(self.group.engine)["first_bad"] is None
        return mine == theirs and len(mine) > 0


@pytest.fixture(scope="session")
def second_postgresql(postgresql_server):
    """A database of the server's for the other side, emptied each time it is asked for."""
    name = postgresql_server.new_migrated()

    def emptied() -> str:
        deletions = "; ".join(f"DELETE FROM {table}" for table in tables.metadata.tables)
        postgresql_server.run(f"SET session_replication_role = replica; {deletions}", database=name)
        return postgresql_server.url(name)

    return emptied


@pytest.fixture
def group_url(request, database_url, tmp_path, migrated_template) -> str:
    """An empty database of the same kind for the group's server."""
    folder = tmp_path / "group"
    folder.mkdir()
    if not database_url.startswith("sqlite"):
        return request.getfixturevalue("second_postgresql")()
    shutil.copy(migrated_template, folder / "dosebook.sqlite3")
    return f"sqlite:///{folder / 'dosebook.sqlite3'}"


@pytest.fixture(scope="session")
def shells(tmp_path_factory, migrated_template):
    """Two applications whose context each test replaces: to make one costs more than a test."""
    made = [
        create_app(server_settings(tmp_path_factory.mktemp("shell"), migrated_template))
        for _ in range(2)
    ]
    for one in made:
        one.extensions["dosebook"].engine.dispose()
    return made


@contextmanager
def serving(shell, settings, clock):
    """Let an application be the server that the settings describe."""
    engine = open_engine(settings.database_url)
    house = replace(
        shell.extensions["dosebook"],
        settings=settings,
        engine=engine,
        report_engine=engine,
        clock=clock,
        server_key=server_key.load_or_create(settings.server_key_path),
        leases=Leases(),
    )
    context.install(shell, house)
    yield shell
    engine.dispose()


@pytest.fixture
def app(shells, settings, clock):
    """The practice's server."""
    with serving(shells[0], settings, clock) as made:
        yield made


@pytest.fixture
def group_app(shells, group_url, tmp_path, migrated_template, clock):
    """The group's server."""
    settings = server_settings(tmp_path / "group", migrated_template, database_url=group_url)
    with serving(shells[1], settings, clock) as made:
        yield made


@pytest.fixture
def strangers(app, group_app, settings, clock) -> Two:
    """Both servers, before they know each other."""
    practice = settled(app, clock, roles=("clinician", "administrator", "manager"))
    two = Two(practice, group_app, Wire(group_app), settings, clock)
    two.words = keys.new_recovery_key(settings, clock, practice.house.random)
    return two


@pytest.fixture
def two(strangers) -> Two:
    """Both servers, and the group follows the practice."""
    strangers.join()
    return strangers


@pytest.fixture
def chair(two):
    """A tablet of the practice; returns (tablet, what saves and sends a note on it)."""
    tablet = two.practice.tablet()
    tablet.person = {"person_id": two.practice.people["clinician"]}
    record_id = tablet.new_id()

    def note(text: str) -> None:
        tablet.record("procedure.noted", record_id, {"text": text})
        tablet.push()

    return tablet, note
