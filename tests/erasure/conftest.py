import pytest

from api.people.rights import ROLES
from api.storage import reach
from tests.erasure.acts import House
from tests.web.practice import Practice, settled


@pytest.fixture(autouse=True)
def reaching():
    """Let the test itself reach everything; each request begins with nothing all the same."""
    with reach.within(*reach.EVERYWHERE):
        yield


@pytest.fixture
def practice(app, clock) -> Practice:
    """A location with one person of each role, who have been here for long."""
    return settled(app, clock, roles=ROLES)


@pytest.fixture
def house(practice) -> House:
    """The practice, with what its people do about erasing."""
    return House(practice)
