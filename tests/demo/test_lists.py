"""The lists of the demo: what they hold, and how the procedures answered them."""

from datetime import UTC, datetime

import pytest

from api.demo import scenario
from api.events.check_payloads import DEVICE_LIST_KINDS
from api.safety.in_force import in_force, upcoming
from api.safety.lateness import lateness
from tests.demo.conftest import NOW

LISTS = {one["kind"]: one for one in scenario.read().lists["lists"]}


def test_there_is_one_of_each_kind_and_its_wording_is_marked_as_our_own():
    around = {"after_use", "before_patient", "pause", "time_out"}
    assert set(LISTS) == around | set(DEVICE_LIST_KINDS)
    for one in LISTS.values():
        assert one["source"].startswith("this project's own choice *")
        ids = [item["item_id"] for item in one["items"]]
        assert len(ids) == len(set(ids))


# What each list has to ask about, by words that such an item cannot do without.
@pytest.mark.parametrize(
    ("kind", "words"),
    [
        (
            "before_patient",
            (
                "check of this laser",
                "authorised",
                "door",
                "sign",
                "window",
                "reflective",
                "for every head",
                "density",
                "uncracked",
                "use count",
                "aiming beam",
                "test exposure",
                "footswitch",
                "evacuator",
                "filter in date",
                "within 5 cm",
                "high-filtration",
                "respirator",
                "teeth",
                "bone",
                "implants",
                "restorations",
                "backstop",
                "matt",
                "ointment",
                "eyes covered",
                "loupes",
                "wet gauze",
                "water",
                "extinguisher",
                "alcohol",
                "oxygen",
                "nitrous oxide",
                "waiting time",
                "emergency stop",
                "settings read back",
            ),
        ),
        (
            "time_out",
            (
                "second identifier",
                "site",
                "consent",
                "allergies",
                "settings read aloud",
                "as many pairs",
                "evacuator",
                "wet gauze",
                "specimen first",
                "agrees",
            ),
        ),
        ("pause", ("standby", "handpiece down", "before a tip was changed")),
        (
            "after_use",
            (
                "standby, then off",
                "key",
                "discarded",
                "sterilised",
                "counted",
                "barrier",
                "eyewear",
                "laser-on time",
                "complications",
            ),
        ),
        (
            "commissioning",
            (
                "arm or guide is seated",
                "moves freely",
                "air line",
                "mains supply",
                "converter",
                "interlock",
                "footswitch",
                "key",
                "warm-up time was measured",
                "aiming beam",
                "first power check",
            ),
        ),
        (
            "after_move",
            (
                "arm or guide is seated",
                "moves freely",
                "air line",
                "mains supply",
                "converter",
                "interlock",
                "footswitch",
                "key",
                "warm-up time was measured",
                "aiming beam",
                "power check with a meter was made since",
            ),
        ),
        (
            "start_of_day",
            (
                "cable, arm, tip and footswitch",
                "key",
                "emergency stop",
                "interlock",
                "visible and centred",
                "cooling",
                "test exposure",
                "evacuator",
                "sign",
                "eyewear",
            ),
        ),
    ],
)
def test_each_list_asks_about_what_it_has_to(kind, words):
    text = " | ".join(
        f"{item['text']} {item.get('why') or ''}" for item in LISTS[kind]["items"]
    ).lower()
    assert [word for word in words if word not in text] == []


def test_a_version_to_come_is_read_by_some_and_asked_by_nobody_yet(demo):
    found = next(one for one in demo.documents("list") if one["kind"] == "after_use")
    first, second = found["versions"]
    # NOW is 07:00 on 25 November in Chicago; six days later is 1 December.
    assert second["effective_from"] == "2026-12-01"
    assert len(second["items"]) == len(first["items"]) + 1
    when = {"zone": "America/Chicago"}
    assert in_force(found, at=NOW, **when)["version"] == 1
    assert in_force(found, at=datetime(2026, 12, 1, 6, 0, tzinfo=UTC), **when)["version"] == 2
    assert [one["version"] for one in upcoming(found, at=NOW, **when)] == [2]
    readers = {one["person_id"] for one in found["acknowledged_by"]}
    people = {one["person_id"]: one["display_name"] for one in demo.documents("person")}
    assert {people[one] for one in readers} == {"Linden Dummyfield"}
    answered = [
        one["list_version"]
        for record in demo.documents("record")
        for one in record["lists"]
        if one["kind"] == "after_use"
    ]
    assert set(answered) == {1}


def test_what_was_answered_when(demo):
    states = {
        (record["patient"]["chart_number"], row["kind"]): row
        for record in demo.documents("record")
        for row in lateness(record)
        if row["state"] != "in time"
    }
    assert {key: row["state"] for key, row in states.items()} == {
        ("Q-10189", "before_patient"): "not answered",
        ("Q-10251", "after_use"): "not answered",
        ("Q-10195", "after_use"): "late",
    }
    # 47 minutes and seven answers of 2 s after the end, of which 30 minutes are allowed.
    assert states["Q-10195", "after_use"]["late_by_s"] == 17 * 60 + 14


def test_each_answer_has_its_own_moment_and_person(demo):
    record = next(
        one for one in demo.documents("record") if one["patient"]["chart_number"] == "Q-10229"
    )
    by_kind = {one["kind"]: one for one in record["lists"]}
    moments = [one["answered_at"] for one in by_kind["before_patient"]["answers"]]
    assert moments == sorted(set(moments))
    assert {one["by"] for one in by_kind["before_patient"]["answers"]} == set(
        record["assistant_ids"][:1]
    )
    odd = {
        one["item_id"]: one["answer"]
        for answered in record["lists"]
        for one in answered["answers"]
        if one["answer"] != "yes"
    }
    assert odd == {"gas": "no", "key": "not applicable"}
