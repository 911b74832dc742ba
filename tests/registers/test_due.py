"""What is due when, against days counted by hand."""

import json
from dataclasses import asdict
from datetime import date
from pathlib import Path

import pytest
from dateutil.relativedelta import relativedelta
from hypothesis import given
from hypothesis import strategies as some

from api.clock import parse_rfc3339
from api.registers import due, fold

VECTORS = Path(__file__).resolve().parents[1] / "vectors"
CASES = json.loads((VECTORS / "due.json").read_text("utf-8"))["cases"]
FOLDS = json.loads((VECTORS / "registers.json").read_text("utf-8"))["cases"]


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["name"])
def test_what_is_due(case):
    rows = due.due_rows(case["documents"], parse_rfc3339(case["at"]), case["zone"])
    assert [asdict(row) for row in rows] == case["rows"]


@given(day=some.dates(date(1999, 1, 1), date(2099, 12, 31)), months=some.integers(1, 120))
def test_months_are_those_of_a_calendar_library(day, months):
    # dateutil's relativedelta: the day of the month, or the last one where it has no such day.
    assert due.after(day, due.Rule(every_months=months)) == day + relativedelta(months=months)


@pytest.mark.parametrize("case", FOLDS, ids=lambda case: case["name"])
def test_how_a_document_comes_about(case):
    document = case.get("known")
    for entry in case["entries"]:
        document = fold.fold(document, entry["body"], entry["payload"])
    assert document == case["document"]


def test_a_document_does_not_grow_for_ever():
    document = None
    for n in range(1, 31):
        body = {
            "event_id": f"e{n}",
            "type": "key.moved",
            "entity_id": "k1",
            "actor_id": "p1",
            "occurred_at": f"2026-03-{n:02}T09:00:00.000+01:00",
        }
        document = fold.fold(document, body, {"direction": "out"})
    # By hand: of 30 the last 20 are 11 to 30.
    assert [one["event_id"] for one in document["movements"]] == [f"e{n}" for n in range(11, 31)]
