import pytest

from api.app import create_app
from api.clock import SteppedClock
from api.people.rights import ROLES
from api.storage import reach
from tests.conftest import START, server_settings
from tests.web import matrix
from tests.web.equipment import DEVICE, TIP
from tests.web.practice import Practice


@pytest.fixture(autouse=True)
def reaching():
    """Let the test itself reach everything; each request begins with nothing all the same."""
    with reach.within(*reach.EVERYWHERE):
        yield


@pytest.fixture
def practice(app, clock) -> Practice:
    """A location with a dentist, the front desk and an administrator."""
    return Practice(app, clock, roles=("clinician", "front_desk", "administrator"))


@pytest.fixture
def whole_practice(app, clock) -> Practice:
    """A location with one person of each role."""
    return Practice(app, clock, roles=ROLES)


@pytest.fixture
def equipped(practice):
    """The practice with a laser, a tip, a kind of procedure; returns (practice, dentist's desk)."""
    desk = practice.desk("administrator")
    desk.command("device.registered", "laser-1", DEVICE)
    desk.command("handpiece.registered", "tip-1", TIP)
    dentist = practice.desk("clinician")
    dentist.command("procedure_kind.listed", "kind-1", {"text": "Frenectomy", "code": None})
    return practice, dentist


@pytest.fixture(scope="module")
def two(request, tmp_path_factory, migrated_template):
    """The application, the location the callers work in, and another one; on either database."""
    clock, url = SteppedClock(START), None
    if getattr(request, "param", "sqlite") == "postgresql":
        server = request.getfixturevalue("postgresql_server")
        url = server.url(server.new_migrated())
    folder = tmp_path_factory.mktemp("two")
    app = create_app(server_settings(folder, migrated_template, database_url=url), clock=clock)
    with reach.within(*reach.EVERYWHERE):
        here = Practice(app, clock, name="Nearshore", roles=ROLES)
        there = Practice(app, clock, name="Farwater", roles=ROLES)
        mine, theirs = matrix.filled(here, "nearword"), matrix.filled(there, "farword")
    yield app, mine, theirs
    app.extensions["dosebook"].engine.dispose()
