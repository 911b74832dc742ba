"""The Python tablet on a bad line, and before a server that lies about its log."""

import copy

import pytest

from api.clock import SteppedClock
from api.demo import scenario
from api.demo.tablet_client import Refused, TabletClient
from api.people import tablets
from api.storage import readers
from api.storage.engine import read, write
from tests.demo.conftest import NOW


class Line:
    """A transport that can lose the reply of the next push, or have its answers changed."""

    def __init__(self, send) -> None:
        self._send = send
        self.lose_next_push = False
        self.change = None

    def __call__(self, method, path, json, headers):
        status, answer = self._send(method, path, json, headers)
        if self.lose_next_push and path.endswith("/sync/push"):
            self.lose_next_push = False
            raise ConnectionError("the reply was lost")
        if self.change is not None and "/sync/pull" in path:
            answer = copy.deepcopy(answer)
            self.change(answer)
        return status, answer


@pytest.fixture
def clock():
    return SteppedClock(NOW)


@pytest.fixture
def line(demo, clock):
    return Line(demo.transport(clock))


@pytest.fixture
def tablet(demo, clock, line):
    made = TabletClient(line, clock, label="Test tablet")
    with write(demo.engine) as connection:
        code = tablets.make_code(
            connection,
            location_id=demo.location_id,
            made_by=None,
            clock=clock,
            random=lambda count: made.new_id().encode()[-count:],
        )
    made.enrol(code["code"])
    made.pull()
    return made


def publish(tablet, count):
    hazel = scenario.read().house["people"][0]
    person_id = next(
        body["person_id"]
        for (kind, _), body in tablet.documents.items()
        if kind == "person" and body["display_name"] == hazel["display_name"]
    )
    return [
        tablet.record(
            "procedure_kind.listed",
            tablet.new_id(),
            {"text": f"Kind {number}", "code": None},
            actor_id=person_id,
        )
        for number in range(count)
    ]


def test_a_lost_reply_leaves_events_waiting_and_the_next_push_finds_them_kept(demo, tablet, line):
    before = readers.log_position(demo.engine)
    publish(tablet, 3)
    line.lose_next_push = True
    with pytest.raises(ConnectionError):
        tablet.push()
    assert len(tablet.waiting()) == 3
    assert [result["outcome"] for result in tablet.push()] == ["duplicate"] * 3
    assert tablet.waiting() == []
    assert readers.log_position(demo.engine) == before + 3


def test_more_than_a_batch_goes_in_several_and_arrives_in_order(demo, tablet):
    before = demo.position(demo.location_id)
    events = publish(tablet, 120)
    results = tablet.push()
    assert [result["event_id"] for result in results] == [
        event.item["event_id"] for event in events
    ]
    assert [result["position"] for result in results] == list(range(before + 1, before + 121))
    with read(demo.engine) as connection:
        entry = readers.entry_by_event(connection, demo.location_id, events[-1].item["event_id"])
    assert entry["verdict"] == "applied"


def test_small_pages_give_the_same_documents_and_the_same_link(demo, tablet, clock):
    other = TabletClient(tablet.transport, clock, label="Reads slowly")
    other.identity = tablet.identity
    other._key = tablet._key
    other.pull(limit=7)
    tablet.pull()
    assert other.documents == tablet.documents
    assert other.position == tablet.position


def _other_hash(page):
    page["entries"][0]["body_hash"] = "0" * 64


def _missing_entry(page):
    del page["entries"][0]


def _other_start(page):
    page["previous_link"] = "1" * 64


def _forged_head(page):
    page["head"]["text"] = page["head"]["text"].replace('"position":', '"position": ')


@pytest.mark.parametrize("change", [_other_hash, _missing_entry, _other_start, _forged_head])
def test_a_rewritten_log_is_noticed(tablet, line, change):
    publish(tablet, 2)
    tablet.push()
    line.change = change
    with pytest.raises(Refused) as refused:
        tablet.pull()
    assert refused.value.code == "log_broken"
