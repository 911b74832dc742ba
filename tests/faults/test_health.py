"""What the server says of itself counts every location, also where they are kept apart."""

import pytest

from api.storage import reach
from tests.web.practice import Practice

pytestmark = pytest.mark.both_databases


def test_the_logs_of_all_locations_are_counted(app, clock, client):
    with reach.within(*reach.EVERYWHERE):
        Practice(app, clock, roles=("clinician",))
        Practice(app, clock, name="South room", roles=())
    # Two locations opened and one person registered, counted by hand; nobody is signed in.
    assert client.get("/api/v1/health").json["log_position"] == 3
