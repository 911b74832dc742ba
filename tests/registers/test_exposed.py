"""Exposed cases against a query written naively over what was said, on random histories.

The naive query knows nothing of our projections: it goes through every emission and every check
and asks the question word by word. Cases of 4 W and 10 s are 40 J by hand.
"""

import random
from datetime import UTC, datetime, timedelta

import pytest

from api.clock import rfc3339
from api.devices.exposure import exposed
from tests.registers.test_service_state import verification as checked

START = datetime(2026, 11, 25, tzinfo=UTC)


def at(minute):
    return rfc3339(START + timedelta(minutes=minute))


def verification(event_id, minute, tip, mode, ratio, verdict, readings=3):
    said = checked(event_id, 0, tip, mode, ratio, verdict, 2, readings)
    return {**said, "verified_at": at(minute)}


def record(record_id, minute, passes, **more):
    return {
        "record_id": record_id,
        "location_id": "here",
        "started_at": at(minute),
        "handpiece": {"handpiece_id": "h"},
        "overrides": [],
        "flags": [],
        "passes": [
            {
                "number": number,
                "started_at": at(when),
                "handpiece": {"handpiece_id": tip},
                "settings": {"emission": {"mode": mode, "power": "4 W"}},
                "total_energy_j": {"set": 40.0, "delivered": None},
            }
            for number, (when, tip, mode) in enumerate(passes, 1)
        ],
        **more,
    }


def test_between_the_last_passed_and_the_first_failed_one():
    checks = [
        verification("p", 0, "h", "c", "0.95", "ok"),
        verification("f", 100, "h", "c", "0.70", "fail"),
        verification("g", 200, "h", "c", "0.65", "fail"),
    ]
    cases = [
        record("in", 50, [(50, "h", "c"), (60, "h", "c")]),
        record("early", -5, [(-5, "h", "c")]),
    ]
    [found] = exposed(cases, verifications=checks, causes={})
    assert found["record_id"] == "in"
    [window] = found["windows"]
    assert (window["passed"]["event_id"], window["failed"]["event_id"]) == ("p", "f")
    assert (window["ratio_least"], window["ratio_most"]) == ("0.70", "0.95")
    # Two passes of 40 J: 80 J set; 0.70 x 80 = 56 J and 0.95 x 80 = 76 J by hand.
    assert window["set_energy_j"] == pytest.approx(80)
    assert window["least_energy_j"] == pytest.approx(56)
    assert window["most_energy_j"] == pytest.approx(76)


def test_another_tip_passed_in_between():
    checks = [
        verification("p", 0, "h", "c", "0.95", "ok"),
        verification("q", 40, "i", "c", "0.97", "ok"),
        verification("f", 100, "h", "c", "0.70", "fail"),
    ]
    cases = [
        record("own tip", 20, [(20, "h", "c")]),
        record("other tip, before it passed", 30, [(30, "i", "c")]),
        record("other tip, after it passed", 50, [(50, "i", "c")]),
    ]
    found = {one["record_id"]: one for one in exposed(cases, verifications=checks, causes={})}
    assert set(found) == {"own tip", "other tip, after it passed"}
    [window] = found["other tip, after it passed"]["windows"]
    # A ratio is valid for its tip only: no numbers.
    assert (window["same"], window["ratio_least"], window["least_energy_j"]) == (False, None, None)


def test_one_that_passed_with_too_few_readings_closes_nothing():
    checks = [
        verification("p", 0, "h", "c", "0.95", "ok"),
        verification("q", 60, "h", "c", "0.96", "ok", readings=2),
        verification("f", 100, "h", "c", "0.70", "fail"),
    ]
    [found] = exposed([record("in", 50, [(50, "h", "c")])], verifications=checks, causes={})
    assert found["windows"][0]["passed"]["event_id"] == "p"


def test_without_a_passed_one_only_the_failed_ratio_is_known():
    checks = [verification("f", 100, "h", "c", "0.70", "fail")]
    [found] = exposed([record("in", 50, [(50, "h", "c")])], verifications=checks, causes={})
    [window] = found["windows"]
    assert (window["passed"], window["ratio_least"]) == (None, None)


def test_out_of_service_until_its_release():
    cause = {"event_id": "c", "kind": "taken_out", "at": at(10), "cleared": {"at": at(90)}}
    said = [{"reason": "Bleeding", "device_id": "d"}]
    flagged = [{"code": "out_of_service_not_known"}]
    cases = [
        record("before", 9, []),
        record("with a reason", 10, [], overrides=said),
        record("without", 50, []),
        record("not known", 60, [], flags=flagged),
        record("elsewhere", 70, [], location_id="there"),
        record("at the release", 90, []),
    ]
    found = exposed(cases, verifications=[], causes={"here": [cause]})
    assert {one["record_id"]: one["service"] for one in found} == {
        "with a reason": "overridden",
        "without": "not_overridden",
        "not known": "not_known",
        "elsewhere": "not_known",
    }


def test_a_laser_that_went_out_in_the_middle_of_a_case():
    cause = {"event_id": "c", "kind": "taken_out", "at": at(10), "cleared": {"at": at(90)}}
    cases = [
        record("used before only", 5, [(6, "h", "c"), (9, "h", "c")]),
        record("used after it too", 5, [(6, "h", "c"), (12, "h", "c")]),
        record("used before and after, not between", 5, [(6, "h", "c"), (91, "h", "c")]),
    ]
    [found] = exposed(cases, verifications=[], causes={"here": [cause]})
    assert (found["record_id"], found["service"]) == ("used after it too", "not_overridden")
    assert [one["event_id"] for one in found["causes"]] == ["c"]


def test_a_reason_about_another_laser_is_none_about_this_one():
    said = [{"reason": "Bleeding", "device_id": "another"}]
    cases = [record("put right to this laser", 5, [], overrides=said, device={"device_id": "d"})]
    assert exposed(cases, verifications=[], causes={"here": []}) == []


def naively(cases, checks):
    """Return {(record, failed event, passes)}: word by word, for every pass and failed check."""
    answer = set()
    for case in cases:
        shots = case["passes"] or [None]
        for shot in shots:
            when = case["started_at"] if shot is None else shot["started_at"]
            tip = "h" if shot is None else shot["handpiece"]["handpiece_id"]
            mode = None if shot is None else shot["settings"]["emission"]["mode"]
            for bad in checks:
                if bad["verdict"] != "fail" or bad["verified_at"] < when:
                    continue
                earlier = False
                cleared = False
                for other in checks:
                    before = (other["verified_at"], other["event_id"]) < (
                        bad["verified_at"],
                        bad["event_id"],
                    )
                    if other["verified_at"] < when or not before:
                        continue
                    twin = (other["handpiece_id"], other["mode"]) == (
                        bad["handpiece_id"],
                        bad["mode"],
                    )
                    if other["verdict"] == "fail":
                        earlier = earlier or twin
                        continue
                    enough = all(len(one["measured"]) >= 3 for one in other["readings"])
                    if not when < other["verified_at"] < bad["verified_at"] or not enough:
                        continue
                    if tip == bad["handpiece_id"] and other["handpiece_id"] != bad["handpiece_id"]:
                        continue
                    if mode in (None, bad["mode"]) and other["mode"] != bad["mode"]:
                        continue
                    cleared = True
                if not earlier and not cleared:
                    number = None if shot is None else shot["number"]
                    answer.add((case["record_id"], bad["event_id"], number))
    return answer


def test_random_histories_against_the_naive_query():
    seed = random.randrange(10**9)
    print("seed", seed)
    dice = random.Random(seed)
    cases_seen = exposed_seen = 0
    for _ in range(300):
        checks = [
            verification(
                f"v{number:02d}",
                # Made late, entered in any order: only when it happened counts.
                dice.randint(0, 60),
                dice.choice("hi"),
                dice.choice("cp"),
                dice.choice(["0.95", "0.9", "0.7"]),
                dice.choice(["ok", "warn", "fail"]),
                dice.choice([3, 3, 3, 2]),
            )
            for number in range(dice.randint(0, 9))
        ]
        cases = []
        for number in range(dice.randint(1, 12)):
            begun = dice.randint(0, 60)
            passes = [
                (begun + dice.randint(0, 9), dice.choice("hi"), dice.choice("cp"))
                for _ in range(dice.randint(0, 3))
            ]
            place = dice.choice(["here", "there"])
            status = dice.choice(["signed", "void", "draft"])
            cases.append(record(f"r{number}", begun, passes, location_id=place, status=status))
        found = exposed(cases, verifications=checks, causes={})
        said = {
            (one["record_id"], window["failed"]["event_id"], number)
            for one in found
            for window in one["windows"]
            for number in window["passes"] or [None]
        }
        assert said == naively(cases, checks)
        dice.shuffle(checks)
        dice.shuffle(cases)
        assert exposed(cases, verifications=checks, causes={}) == found
        cases_seen += len(cases)
        exposed_seen += len(found)
    assert cases_seen > 1000
    assert exposed_seen > 100
