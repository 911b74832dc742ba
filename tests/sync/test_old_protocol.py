"""A tablet of the previous protocol: told to upgrade, it keeps everything, and nothing is lost.

RFC 9110, 15.5.22: 426 says that the server refuses under the protocol in use and might do it after
an upgrade. So it must not have done anything.
"""

import pytest

from api.errors import BadInput
from api.storage import accounts
from api.storage.engine import read
from api.sync import protocol
from api.sync.pull import pull
from tests.sync.world import World

pytestmark = pytest.mark.both_databases(long=True)

NEW = protocol.PROTOCOL_VERSION + 1


@pytest.fixture
def upgraded(tmp_path, monkeypatch):
    """A server of the next protocol, and a tablet that still speaks the present one."""
    world = World(tmp_path)
    tablet = world.tablet()
    tablet.push(tablet.make())
    monkeypatch.setattr(protocol, "PROTOCOL_VERSION", NEW)
    yield world, tablet
    world.close()


def next_seq(world, tablet):
    with read(world.engine) as connection:
        return accounts.tablet_by_id(connection, tablet.tablet_id)["next_seq"]


def offer(tablet, waiting, *, keeps=True):
    """Send what waits and return what still does; one that is refused keeps it all, or ought to."""
    try:
        results = tablet.push(*waiting)
    except BadInput as refused:
        assert refused.code == "protocol_unsupported"
        assert refused.facts["protocol"] == NEW
        return list(waiting) if keeps else []
    assert {each["outcome"] for each in results} <= {"applied", "duplicate"}
    return []


def test_it_is_told_which_protocol_is_spoken_and_nothing_has_happened(upgraded):
    world, tablet = upgraded
    before, notes = next_seq(world, tablet), world.notes()
    waiting = [tablet.make() for _ in range(3)]
    assert offer(tablet, waiting) == waiting
    assert (next_seq(world, tablet), world.notes()) == (before, notes)


def test_it_still_reads(upgraded):
    world, tablet = upgraded
    page = pull(
        world.engine,
        world.clock,
        world.server_key,
        tablet_or_location=tablet.row(),
    )
    assert page["entries"][-1]["position"] == 2


def speak(tablet, version):
    """Let the tablet's program be of another version: the same entries, another envelope."""
    make = tablet.request
    tablet.request = lambda *items: make(*items) | {"protocol": version}


def test_what_it_kept_comes_in_once_when_it_was_updated(upgraded):
    world, tablet = upgraded
    waiting = [tablet.make() for _ in range(60)]
    for start in (0, 50):
        assert offer(tablet, waiting[start : start + 50])
    speak(tablet, NEW)
    for start in (0, 50):
        assert offer(tablet, waiting[start : start + 50]) == []
    # An answer that was lost: the same again does no harm.
    assert offer(tablet, waiting[:50]) == []
    assert world.notes() == [f"note {number}" for number in range(1, 62)]


def test_a_tablet_that_takes_the_refusal_for_an_answer_loses_entries(upgraded):
    """The known-bad one: it drops what was refused."""
    world, tablet = upgraded
    waiting = [tablet.make() for _ in range(3)]
    left = offer(tablet, waiting, keeps=False)
    speak(tablet, NEW)
    offer(tablet, left)
    assert world.notes() == ["note 1"]
