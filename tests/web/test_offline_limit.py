"""For how many days a tablet may show earlier patients without the server: the practice's own."""

import pytest

from api.demo.tablet_client import Refused
from api.storage import documents
from api.storage.engine import read

pytestmark = pytest.mark.both_databases(long=True)


def set_to(practice, days, *, role="administrator", location_id=None):
    return practice.desk(role).command(
        "location.offline_limit_set",
        location_id or practice.location_id,
        {"offline_days": days},
    )


def location(practice) -> dict:
    with read(practice.house.engine) as connection:
        return documents.get(connection, practice.location_id, "location", practice.location_id)


def test_it_is_set_at_a_desk_and_comes_to_tablets_with_the_location(practice):
    before = location(practice)
    assert "offline_days" not in before
    for days in (1, 30):
        set_to(practice, days)
        after = location(practice)
        assert after["offline_days"] == days
        assert {**after, "event_id": None} == {**before, "offline_days": days, "event_id": None}
    tablet = practice.tablet()
    tablet.prove()
    pulled = [
        document["body"] for document in tablet.pull("house") if document["kind"] == "location"
    ]
    assert [one["offline_days"] for one in pulled] == [30]


@pytest.mark.parametrize("days", [0, 31, -1, "7", 2.5, None])
def test_nonsense_is_refused_at_the_field(practice, days):
    with pytest.raises(Refused) as refused:
        set_to(practice, days)
    assert "offline_days" in str(refused.value.facts["problem"])
    assert "offline_days" not in location(practice)


def test_only_an_administrator_sets_it_and_only_for_this_location(practice):
    with pytest.raises(Refused) as refused:
        set_to(practice, 3, role="front_desk")
    assert refused.value.code == "not_allowed"
    with pytest.raises(Refused) as absent:
        set_to(practice, 3, location_id="01939a2b-0000-7000-8000-00000000ffff")
    assert absent.value.facts["status"] == 404
    assert "offline_days" not in location(practice)
