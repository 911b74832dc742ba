"""How often a handpiece was used: counted from records, each once."""

from hypothesis import given
from hypothesis import strategies as st

from api.records import project
from api.storage import documents, handpiece_uses
from tests.records.projected import LOCATION


def uses(log, handpiece_id):
    found = documents.get(log.connection, LOCATION, "handpiece_use", handpiece_id)
    return None if found is None else (found["uses"], found["last_used_at"])


def test_a_handpiece_is_used_once_by_a_record_however_often_that_is_projected(log):
    log.enter_all("open")
    assert uses(log, "h1") is None
    log.enter_all("pass45")
    assert uses(log, "h1") == (1, "2026-11-25T09:03:00.000+00:00")
    log.enter_all("two-tips", "tip-unchecked", "on45", "note")
    for entry in log.entries:
        project.project(log.connection, entry)
    assert uses(log, "h1") == (1, "2026-11-25T09:03:00.000+00:00")
    assert uses(log, "h2") == (1, "2026-11-25T09:03:30.000+00:00")


def test_what_is_taken_back_or_void_is_not_counted(log):
    log.enter_all("open", "pass4", "two-tips")
    assert (uses(log, "h1")[0], uses(log, "h2")[0]) == (1, 1)
    log.enter_all("take-back-pass4")
    assert (uses(log, "h1"), uses(log, "h2")[0]) == ((0, None), 1)
    log.enter_all("void")
    assert (uses(log, "h1"), uses(log, "h2")) == ((0, None), (0, None))


def test_uses_of_several_records_add_up_and_can_be_made_anew(log):
    log.enter_all("open", "pass4")
    with_rows = [("other", "2026-11-26T09:00:00.000+00:00"), ("third", "2026-11-20T09:00:00+01:00")]
    for record_id, at in with_rows:
        handpiece_uses.put_all(log.connection, LOCATION, {record_id: {"h1": at}})
    assert handpiece_uses.count(log.connection, LOCATION, ["h1", "unused"]) == {
        "h1": {"uses": 3, "last_used_at": "2026-11-26T09:00:00.000+00:00"},
        "unused": {"uses": 0, "last_used_at": None},
    }
    # The same again changes nothing, and says so.
    again = {"other": {"h1": with_rows[0][1]}, "third": {}}
    assert handpiece_uses.put_all(log.connection, LOCATION, again) == {
        ("third", "h1"): ("2026-11-20T08:00:00.000+00:00", None)
    }
    assert list(handpiece_uses.put_all(log.connection, LOCATION, {"other": {}})) == [
        ("other", "h1")
    ]
    assert handpiece_uses.count(log.connection, LOCATION, ["h1"])["h1"]["uses"] == 1
    assert handpiece_uses.count(log.connection, "elsewhere", ["h1"])["h1"]["uses"] == 0


MOMENTS = st.none() | st.integers(0, 5).map(lambda hour: f"2026-11-26T0{hour}:00:00.000+00:00")


@given(
    st.lists(st.dictionaries(st.sampled_from("abc"), MOMENTS, min_size=1, max_size=3), max_size=8)
)
def test_what_is_said_without_counting_is_what_counting_says(steps):
    """By hand: a handpiece's uses are the records that have a moment, its last the latest."""
    known, at = None, {}
    for step in steps:
        changes = [
            (at.get(record), moment) for record, moment in step.items() if at.get(record) != moment
        ]
        at |= step
        moments = [moment for moment in at.values() if moment is not None]
        counted = {"uses": len(moments), "last_used_at": max(moments, default=None)}
        if changes:
            assert handpiece_uses.later(known, changes) in (None, counted)
            known = counted


def test_a_pass_or_a_record_more_needs_no_counting():
    known = {"uses": 7, "last_used_at": "2026-11-26T03:00:00.000+00:00"}
    on = ("2026-11-26T02:00:00.000+00:00", "2026-11-26T04:00:00.000+00:00")
    assert handpiece_uses.later(known, [on]) == {"uses": 7, "last_used_at": on[1]}
    assert handpiece_uses.later(known, [(None, on[0])]) == {**known, "uses": 8}
    assert handpiece_uses.later(known, [(on[1], on[0])]) is None
    assert handpiece_uses.later(known, [(on[0], None)]) is None
    assert handpiece_uses.later(None, [on]) is None
