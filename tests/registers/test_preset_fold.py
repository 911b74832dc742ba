"""What has been said about a preset comes to what the vectors say; the tablet reads the same."""

import json
from pathlib import Path

import pytest

from api.presets import fold

VECTORS = Path(__file__).resolve().parents[1] / "vectors" / "presets.json"
CASES = json.loads(VECTORS.read_text(encoding="utf-8"))["cases"]


def entry(step):
    event_id, type, verdict, base_version, corrects, payload = step
    return {
        "verdict": verdict,
        "body": {
            "event_id": event_id,
            "type": type,
            "entity_id": "s1",
            "actor_id": "person-1",
            "base_version": base_version,
            "corrects": corrects,
            "occurred_at": "2026-03-02T09:30:00.000+01:00",
        },
        "payload": payload,
    }


def come_to(steps):
    document = None
    for step in steps:
        document = fold.apply(document, entry(step))
    return document


def in_short(document, expected):
    """Return the document as the vectors write it: entries by their event ids."""
    short = {name: document.get(name) for name in expected}
    for name in ("versions", "drafts", "set_aside", "withdrawals"):
        short[name] = [one["event_id"] for one in document[name]]
    short["withdrawn"] = document["withdrawn"] and document["withdrawn"]["event_id"]
    return short


@pytest.mark.parametrize("case", CASES, ids=[case["name"] for case in CASES])
def test_a_preset_comes_to(case):
    assert in_short(come_to(case["steps"]), case["expected"]) == case["expected"]


def test_a_step_changes_no_earlier_document():
    # The log is folded step by step from stored documents: a shared list would rewrite the past.
    steps = next(case for case in CASES if len(case["steps"]) == 5)["steps"]
    first = come_to(steps[:3])
    before = json.dumps(first)
    fold.apply(first, entry(steps[3]))
    fold.apply(first, entry(steps[4]))
    assert json.dumps(first) == before


def test_a_fold_without_the_rule_about_withdrawals_would_be_caught():
    # The known-bad stub: corrects is ignored, so that setting a draft aside withdraws the preset.
    def careless(known, one):
        return fold.apply(known, {**one, "body": {**one["body"], "corrects": None}})

    case = next(case for case in CASES if case["name"].startswith("setting a draft aside"))
    document = None
    for step in case["steps"]:
        document = careless(document, entry(step))
    assert in_short(document, case["expected"]) != case["expected"]


def test_a_document_of_the_first_program_gets_its_history():
    old = {
        "version": 1,
        "name": "One",
        "event_id": "e1",
        "published_at": "2026-03-01T09:30:00.000+01:00",
        "published_by": "person-1",
        "preset_id": "s1",
        "status": "current",
        "withdrawn": None,
        "drafts": [],
    }
    new = fold.apply(
        old, entry(["e2", "preset.published", "applied", 1, None, {"version": 2, "name": "Two"}])
    )
    assert [(one["event_id"], one["name"]) for one in new["versions"]] == [
        ("e1", "One"),
        ("e2", "Two"),
    ]
    # It did not say which event withdrew it.
    gone = {**old, "status": "withdrawn", "withdrawn": {"reason": "no", "at": "2026", "by": "p"}}
    back = fold.apply(
        gone, entry(["e2", "preset.published", "applied", 1, None, {"version": 2, "name": "Two"}])
    )
    assert back["status"] == "current"
