"""Checks of a laser by its lists: the verdict from the answers, late ones, and the document."""

import json
from pathlib import Path

import pytest

from api.clock import parse_rfc3339
from api.events import check_payloads
from api.safety import check_verdict, device_checks
from api.safety.in_force import local_day
from api.storage import documents

VECTORS = json.loads(
    (Path(__file__).resolve().parents[1] / "vectors" / "device_checks.json").read_text()
)


def cases(name: str) -> list:
    return [pytest.param(one, id=one["name"]) for one in VECTORS[name]]


def answers(rows) -> list[dict]:
    return [
        {"item_id": item, "text": item, "answer": given, "note": note} for item, given, note in rows
    ]


@pytest.mark.parametrize("case", cases("verdicts"))
def test_the_verdict(case):
    asked = None
    if case["list_kind"]:
        items = [{"item_id": name, "not_applicable": rule} for name, rule in case["items"]]
        asked = {"kind": case["list_kind"], "items": items}
    said = {
        "kind": case["kind"],
        "answers": answers(case["answers"]),
        "verdict": case["stated"],
    }
    found = check_verdict.judge(said, asked)
    expected = (case["verdict"], tuple(case["failed"]), tuple(case["flags"]))
    assert (found.verdict, found.failed, found.flags) == expected, case["why"]


@pytest.mark.parametrize("case", cases("moments"))
def test_when_it_counts_as_done(case):
    found = check_verdict.moments(case["claimed"], written_at=case["written"])
    assert (found.done_at, found.late, list(found.flags)) == (
        case["done"],
        case["late"],
        case["flags"],
    )


@pytest.mark.parametrize("case", cases("days"))
def test_which_day_it_is_of(case):
    assert local_day(parse_rfc3339(case["at"]), case["zone"]) == case["day"]


def test_the_kinds_are_those_that_were_agreed_on():
    assert check_payloads.DEVICE_LIST_KINDS == (
        "commissioning",
        "after_move",
        "start_of_day",
        "end_of_day",
        "weekly",
        "monthly",
        "yearly",
    )


VERSION = {
    "version": 2,
    "kind": "start_of_day",
    "event_id": "published-2",
    "items": [{"item_id": "key", "not_applicable": "never"}],
}
# Published on another tablet without a network, also as version 2: it asks more.
DRAFT = {
    **VERSION,
    "event_id": "draft-2",
    "items": [*VERSION["items"], {"item_id": "cable", "not_applicable": "never"}],
}


@pytest.fixture
def projected(monkeypatch):
    """Return what projects a check, with documents kept in memory."""
    kept = {
        ("loc", "location", "loc"): {"zone": "Europe/Berlin"},
        ("loc", "list", "l1"): {"versions": [VERSION], "drafts": [DRAFT], "set_aside": []},
    }

    def put(_connection, *key_and_body, position):
        *key, body = key_and_body
        kept[tuple(key)] = body

    monkeypatch.setattr(documents, "get", lambda _, *key: kept.get(key))
    monkeypatch.setattr(documents, "put", put)

    def project(written_at="2026-11-27T07:41:00.000+01:00", **more) -> dict:
        payload = {
            "device_id": "d1",
            "kind": "start_of_day",
            "list_id": "l1",
            "list_version": 2,
            "list_event_id": "published-2",
            "title": "Start of day",
            "answers": answers([("key", "yes", None)]),
            "verdict": "passed",
            "done_at": "2026-11-27T07:40:00.000+01:00",
            "note": None,
            **more,
        }
        device_checks.project(
            None,
            {
                "position": 7,
                "location_id": "loc",
                "verdict": "applied",
                "received_at": "2026-11-28T09:00:00.000+00:00",
                "body": {
                    "event_id": "e7",
                    "type": "device.checked",
                    "entity_id": "c1",
                    "actor_id": "assistant",
                    "occurred_at": written_at,
                    "tablet_id": "t1",
                    "tablet_seq": 5,
                    "clock_offset_ms": -250,
                },
                "payload": payload,
            },
        )
        return kept["loc", "device_check", "c1"]

    return project


def test_a_check_as_a_document(projected):
    found = projected()
    assert found["verdict"] == "passed"
    assert found["failed"] == found["flags"] == []
    assert (found["done_at"], found["day"]) == ("2026-11-27T07:40:00.000+01:00", "2026-11-27")
    assert found["done_utc"] == "2026-11-27T06:40:00.000+00:00"
    # That it came a day later, from a tablet without a network, does not make it late.
    assert (found["late"], found["received_at"]) == (False, "2026-11-28T09:00:00.000+00:00")
    assert (found["checked_by"], found["device_check_id"]) == ("assistant", "c1")
    made = [found[name] for name in ("tablet_id", "tablet_seq", "clock_offset_ms")]
    assert made == ["t1", 5, -250]


def test_a_week_ticked_on_friday_is_late(projected):
    found = projected(written_at="2026-11-27T20:00:00.000+01:00")
    assert (found["late"], found["verdict"], found["day"]) == (True, "passed", "2026-11-27")


def test_nothing_is_checked_for_tomorrow(projected):
    found = projected(done_at="2026-11-28T07:40:00.000+01:00")
    assert (found["day"], found["claimed_at"]) == ("2026-11-27", "2026-11-28T07:40:00.000+01:00")
    assert found["flags"] == ["claimed_ahead"]


def test_of_two_texts_with_one_number_the_one_that_was_answered_counts(projected):
    assert projected()["verdict"] == "passed"
    found = projected(list_event_id="draft-2")
    assert (found["verdict"], found["failed"]) == ("failed", ["cable"])
    assert (found["stated_verdict"], found["flags"]) == (
        "passed",
        ["items_missing", "verdict_differs"],
    )


def test_a_list_that_is_not_known_here_proves_nothing(projected):
    found = projected(list_id="l2")
    assert (found["verdict"], found["flags"]) == ("failed", ["list_unknown", "verdict_differs"])
