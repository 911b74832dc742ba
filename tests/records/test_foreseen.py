"""What is made of a record before it stands in the log is what is made of it there."""

import copy

import hypothesis.strategies as st
import pytest
from hypothesis import given, settings

from api.records import project
from api.records.document import document, foresee
from api.storage import documents, handpiece_uses, readers
from tests.records import fold_vectors as vectors
from tests.records.projected import LOCATION

NAMES = sorted(name for name in vectors.VECTORS["events"] if name not in ("erased", "open"))
AT = "2026-11-25T09:10:00.000+00:00"
some_events = st.lists(st.sampled_from(NAMES), max_size=12, unique=True)


def entry(name, *, received_at=AT):
    event = vectors.event(name)
    return {**event, "event_id": event["body"]["event_id"], "received_at": received_at}


def placed(entries, first=7):
    """The entries as the log has them."""
    return [
        {**one, "position": position, "verdict": "applied", "location_id": LOCATION}
        for position, one in enumerate(entries, first)
    ]


@settings(max_examples=100, deadline=None, derandomize=True)
@given(names=some_events)
def test_a_foreseen_record_is_the_one_of_its_place(names):
    entries = [entry(name) for name in ["open", *names]]
    foreseen = foresee(entries)["rec"]
    before = copy.deepcopy(foreseen.record)
    for first in (1, 40):
        found = placed(entries, first)
        made = document(found, foreseen)
        assert made == document(found)
        assert list(made) == list(document(found))
        made["flags"].append({"code": "more"})
    # A transaction that gave way uses it once more.
    assert foreseen.record == before


@pytest.mark.parametrize(
    "found",
    [
        placed([entry("open"), entry("pass4")]),
        placed([entry("open"), entry("pass4"), entry("note"), entry("on4")]),
        placed([entry("open"), entry("pass4"), entry("note", received_at="2026-11-25T10:00:00Z")]),
        placed([entry("open"), entry("pass4"), {**entry("note"), "payload": None}]),
    ],
    ids=["one was put aside", "one was there", "received at another time", "one was erased"],
)
def test_of_other_entries_nothing_is_foreseen(found):
    foreseen = foresee([entry("open"), entry("pass4"), entry("note")])["rec"]
    assert document(found, foreseen) == document(found)
    assert document(found, foreseen)["history"] != foreseen.record["history"]


def test_only_what_begins_is_foreseen():
    assert foresee([entry("pass4"), entry("note")]) == {}


def test_what_cannot_be_folded_stops_no_other_record():
    broken = entry("pass4")
    broken = {**broken, "body": {**broken["body"], "occurred_at": "no time", "entity_id": "other"}}
    opened = entry("open")
    opened = {**opened, "body": {**opened["body"], "entity_id": "other"}}
    assert list(foresee([opened, broken, entry("open")])) == ["rec"]


def projected(log, before, entries):
    """What a database has after ``entries`` came together, ``before`` having been there."""
    for name in before:
        log.enter(vectors.event(name), received_at=AT)
    found = placed(entries, len(log.entries) + 1)
    log.entries += found
    project.project_all(log.connection, found, foresee(entries))
    return log.record


def test_an_entry_that_came_before_the_opening_is_not_passed_over(log):
    record = projected(log, ["pass4"], [entry("open"), entry("note")])
    assert record == document(log.entries) | {"flags": record["flags"]}
    assert len(record["history"]) == 3
    assert handpiece_uses.count(log.connection, LOCATION, ["h1"])["h1"]["uses"] == 1


def test_of_a_record_that_begins_no_entries_are_read(log, monkeypatch):
    def read(*_, **__):
        raise AssertionError("read from the log")

    monkeypatch.setattr(readers, "entries_of_records", read)
    record = projected(log, [], [entry("open"), entry("pass4"), entry("note")])
    assert record["received"]["position"] == 3
    used = documents.get(log.connection, LOCATION, "handpiece_use", "h1")
    assert used["uses"] == 1
    # The next entry finds what there is.
    with pytest.raises(AssertionError, match="read from the log"):
        log.enter_all("on4")
