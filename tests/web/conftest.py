import pytest

from api.people.rights import ROLES
from api.storage import reach
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
