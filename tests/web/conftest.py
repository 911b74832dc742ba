import pytest

from api.people.rights import ROLES
from tests.web.practice import Practice


@pytest.fixture
def practice(app, clock) -> Practice:
    """A location with a dentist, the front desk and an administrator."""
    return Practice(app, clock, roles=("clinician", "front_desk", "administrator"))


@pytest.fixture
def whole_practice(app, clock) -> Practice:
    """A location with one person of each role."""
    return Practice(app, clock, roles=ROLES)
