"""The record that events come to, against expectations written by hand."""

import pytest

from api.records.fold import fold
from api.records.order import content_hash, in_order
from tests.records import fold_vectors as vectors


@pytest.mark.parametrize("case", vectors.CASES, ids=lambda case: case["name"])
def test_fold(case):
    events = vectors.events(case)
    record = fold(events)
    assert [one["body"]["event_id"] for one in in_order(events)] == case["order"]
    assert [line["event_id"] for line in record["history"]] == case["order"]
    effective = [line["event_id"] for line in record["history"] if line["effective"]]
    assert effective == case["effective"]
    assert [[one["code"], one["event_id"]] for one in record["flags"]] == case["codes"]
    for path, wanted in case["expect"].items():
        found = vectors.at(record, path)
        assert vectors.alike(found, wanted), f"{path}: {found!r} is not {wanted!r}"


@pytest.mark.parametrize(
    "case",
    [case for case in vectors.CASES if "content_hash" in case],
    ids=lambda case: case["name"],
)
def test_what_a_signature_covers(case):
    events = vectors.events(case)
    signature = fold(events)["sign_off"]["event_id"]
    assert content_hash(events, before=signature) == case["content_hash"]
    before = [one for one in events if one["body"]["event_id"] < "e10" or one["payload"] is None]
    assert content_hash(before) == case["content_hash"]


def test_the_comparison_can_fail():
    assert not vectors.alike({"a": 1.0}, {"a": 1.0, "b": None})
    assert not vectors.alike(1.0, 1.0 + 1e-8)
    assert not vectors.alike(True, 1)
    assert not vectors.alike(None, 0)
    assert not vectors.alike("4.0 W", "4 W")


def test_no_events_no_record():
    with pytest.raises(ValueError, match="at least one"):
        fold([])
