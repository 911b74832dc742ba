"""Whatever the order of arrival, whatever the mix of events: the same record."""

from datetime import timedelta

import hypothesis.strategies as st
from hypothesis import HealthCheck, given, settings

from api.records import order
from api.records.fold import fold
from tests.records import fold_vectors as vectors

# These speak about the signed record, and may change it for the reader.
ABOUT_THE_WHOLE = {"record.addended", "record.reattributed", "record.voided"}
NAMES = sorted(name for name in vectors.VECTORS["events"] if name != "erased")
some_events = st.lists(st.sampled_from(NAMES), min_size=1, max_size=14, unique=True)
quick = settings(
    max_examples=150,
    deadline=timedelta(seconds=2),
    derandomize=True,
    suppress_health_check=[HealthCheck.too_slow],
)


@quick
@given(names=some_events, data=st.data())
def test_same_events_same_record(names, data):
    events = [vectors.event(name) for name in names]
    record = fold(events)
    arrived = data.draw(st.permutations(events))
    again = data.draw(st.lists(st.sampled_from(events), max_size=4))
    assert fold([*arrived, *again]) == record
    assert order.content_hash(arrived) == order.content_hash(events)


@quick
@given(names=some_events)
def test_every_event_is_in_the_history(names):
    record = fold([vectors.event(name) for name in names])
    told = {line["event_id"] for line in record["history"]}
    assert told == {vectors.VECTORS["events"][name]["id"] for name in names}
    assert all(one["event_id"] in told for one in record["flags"])


@quick
@given(names=some_events, data=st.data())
def test_what_was_signed_does_not_change_afterwards(names, data):
    """Entries the opening tablet makes after its signature leave the signed content alone."""
    base = ["open", "pass4", "on4", "end", "sign"]
    signed = fold([vectors.event(name) for name in base])
    late = [
        name
        for name in names
        if vectors.VECTORS["events"][name]["tablet"] == "A"
        and vectors.VECTORS["events"][name]["seq"] > vectors.VECTORS["events"]["sign"]["seq"]
        and vectors.VECTORS["events"][name]["type"] not in ABOUT_THE_WHOLE
    ]
    record = fold([vectors.event(name) for name in [*base, *late]])
    for name in ("patient", "passes", "notes", "outcome", "sign_off", "version", "status"):
        assert record[name] == signed[name]
    assert [one["code"] for one in record["flags"]] == ["entry_after_signature"] * len(late)


@quick
@given(names=some_events, data=st.data())
def test_corrections_in_any_order_same_record(names, data):
    """Everything that names another entry, in any order among itself, after all the others."""
    events = [vectors.event(name) for name in names]
    firsts = [event for event in events if event["body"]["corrects"] is None]
    corrections = [event for event in events if event["body"]["corrects"] is not None]
    shuffled = data.draw(st.permutations(corrections))
    assert fold([*firsts, *shuffled]) == fold([*shuffled, *firsts]) == fold(events)


@quick
@given(names=some_events)
def test_versions_and_status(names):
    """Versions count from 1 without holes, start with the signature, and void wins."""
    record = fold([vectors.event(name) for name in names])
    assert [one["version"] for one in record["versions"]] == list(range(1, record["version"] + 1))
    assert (record["sign_off"] is not None) == (record["version"] > 0)
    assert all((one["cause"] == "signed") == (one["version"] == 1) for one in record["versions"])
    assert (record["status"] == "void") == (record["voided"] is not None)
    if record["reattributions"]:
        assert record["patient"] == record["reattributions"][-1]["to"]
    assert sum(pause["to_at"] is None for pause in record["pauses"]) <= 1


def test_a_fold_in_order_of_arrival_would_be_caught(monkeypatch):
    """The known-bad stub: events taken as they come."""
    events = [vectors.event(name) for name in ("open", "pass4", "pass45", "note", "desk-note")]
    monkeypatch.setattr("api.records.fold.in_order", list)
    assert fold(events) != fold(list(reversed(events)))


def test_a_long_chain_of_corrections_does_not_exhaust_the_stack():
    events = [vectors.event("open"), vectors.event("note")]
    for number in range(3000):
        body = {
            **events[-1]["body"],
            "event_id": f"f{number:05}",
            "tablet_seq": 100 + number,
            "corrects": events[-1]["body"]["event_id"],
        }
        events.append({**events[-1], "body": body, "payload": {"text": str(number)}})
    assert [one["text"] for one in fold(events)["notes"]] == ["2999"]
