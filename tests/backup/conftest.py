import pytest

from api.backup import keys, making
from api.clock import rfc3339
from api.storage import reach
from tests.web.practice import Practice


@pytest.fixture(autouse=True)
def reaching():
    """Let the test itself reach everything, as whoever sits at the server does."""
    with reach.within(*reach.EVERYWHERE):
        yield


@pytest.fixture
def practice(app, clock, request, database_url, monkeypatch) -> Practice:
    """A location with a dentist; PostgreSQL's programs are those of the tests' server."""
    if not database_url.startswith("sqlite"):
        server = request.getfixturevalue("postgresql_server")
        monkeypatch.setenv("DOSEBOOK_PG_BIN", str(server.programs))
    return Practice(app, clock, roles=("clinician",))


@pytest.fixture
def chair(practice):
    """A tablet of the practice; returns (tablet, what saves and sends a note on it)."""
    tablet = practice.tablet()
    tablet.person = {"person_id": practice.people["clinician"]}
    record_id = tablet.new_id()

    def note(text: str) -> None:
        tablet.record("procedure.noted", record_id, {"text": text})
        tablet.push()

    return tablet, note


@pytest.fixture
def recovery_words(settings, clock, practice) -> str:
    """The words of the server's recovery key."""
    return keys.new_recovery_key(settings, clock, practice.house.random)


@pytest.fixture
def make(settings, clock, practice, recovery_words, tmp_path):
    """Return a function that makes a backup and returns what ``making.make`` does."""

    def made() -> dict:
        return making.make(
            settings,
            practice.house.engine,
            clock,
            practice.house.random,
            folder=tmp_path / "backups",
        )

    return made


@pytest.fixture
def moment(clock):
    """The present moment as data have it."""
    return rfc3339(clock.now())
