"""Trends against a second working-out, and what was decided about late, failed and few checks."""

import json
from dataclasses import replace
from pathlib import Path

import pytest

from api.devices import trend
from api.devices.trend import CUTS, POWER, Check
from tests.registers import trend_oracle

VECTORS = json.loads(
    (Path(__file__).resolve().parents[1] / "vectors" / "trend.json").read_text("utf-8")
)
SERIES = {one["name"]: one for one in VECTORS["series"]}
RULES = {"power": POWER, "cuts": CUTS}
# The series for Student's t that both programs use is within 0.2 % of it.
BY_T = 3e-3


def worked_out(series, order=1):
    checks = [Check(**one) for one in series["checks"]][::order]
    restarts = [(one["id"], one["at"]) for one in series["restarts"]]
    return trend.trend(checks, restarts, rules=RULES[series["rules"]])


def close(found, expected, rel=1e-9):
    return expected is None if found is None else found == pytest.approx(expected, rel=rel)


@pytest.mark.parametrize("name", SERIES)
def test_a_trend_is_worked_out_as_the_vectors_say(name):
    expected = SERIES[name]["expected"]
    found = worked_out(SERIES[name])
    points = [
        {
            "check_id": one.check.check_id,
            "part": one.part,
            "role": one.role,
            "z": None if one.smoothed is None else pytest.approx(one.smoothed.z, rel=1e-9),
            "signals": one.signals,
        }
        for one in found.points
    ]
    assert points == expected["points"]
    for part, said in zip(found.parts, expected["parts"], strict=True):
        assert (part.restart_id, part.settled) == (said["restart_id"], said["settled"])
        assert close(part.center, said["center"])
        assert close(part.sigma, said["sigma"])
    assert close(found.line, expected["line"])
    meaning, said = found.meaning, expected["meaning"]
    assert (meaning.code, meaning.direction, meaning.since) == (
        said["code"],
        said["direction"],
        said["since"],
    )
    assert close(meaning.rate, said["rate"], BY_T)
    assert close(meaning.reaches, said["reaches"], 2e-2)


@pytest.mark.parametrize("name", SERIES)
def test_the_vectors_are_those_of_the_second_working_out(name):
    one = SERIES[name]
    rules = VECTORS["rules"][one["rules"]]
    found = trend_oracle.trend(one["checks"], one["restarts"], rules)
    plain = json.loads(json.dumps(found, default=float))
    assert nearly(plain, one["expected"])


def nearly(found, expected):
    if isinstance(expected, dict):
        return found.keys() == expected.keys() and all(
            nearly(found[key], expected[key]) for key in expected
        )
    if isinstance(expected, list):
        return len(found) == len(expected) and all(map(nearly, found, expected))
    if isinstance(expected, float):
        return found == pytest.approx(expected, rel=1e-6)
    return found == expected


@pytest.mark.parametrize("name", SERIES)
def test_checks_count_in_the_order_in_which_they_were_made(name):
    assert worked_out(SERIES[name], order=-1) == worked_out(SERIES[name])


def test_the_rules_are_those_of_the_vectors():
    for name, rules in VECTORS["rules"].items():
        assert RULES[name] == trend.Rules(**rules)


def at(day, value, **more):
    return Check(
        check_id=f"c{day:03d}", at=f"2026-01-01T09:00:00.{day:03d}+00:00", value=value, **more
    )


def level(count, value=0.95):
    """Checks that alternate by 0.01 about ``value``: sigma 0.01 / 1.128, by hand."""
    return [at(day, value + (0.005 if day % 2 else -0.005)) for day in range(count)]


def test_nineteen_checks_are_no_baseline_and_twenty_are():
    few = trend.trend(level(19))
    assert (few.meaning.code, few.parts[0].settled, few.parts[0].center) == (
        "no_baseline",
        19,
        None,
    )
    # The 20 % line stands all the same, and holds for a failed check.
    assert few.line == pytest.approx((0.8, 1.2))
    enough = trend.trend(level(20))
    assert enough.meaning.code == "steady"
    assert enough.parts[0].center == pytest.approx(0.95)
    assert enough.parts[0].sigma == pytest.approx(0.01 / 1.128)


def test_a_late_check_may_change_the_baseline():
    checks = level(21)
    before = trend.trend([*checks[:10], *checks[11:]])
    after = trend.trend([*checks[:10], *checks[11:], replace(checks[10], value=0.96)])
    assert [one.role for one in before.points].count("baseline") == 20
    assert after.points[10].role == "baseline"
    assert after.points[20].role == "watched"


def test_at_and_around_the_individuals_limit():
    """Centre 0.95, sigma 0.01 / 1.128, limit 0.95 + 0.0265957."""
    inside = trend.trend([*level(20), at(20, 0.97659)])
    outside = trend.trend([*level(20), at(20, 0.97660)])
    assert "limits" not in inside.points[-1].signals
    assert "limits" in outside.points[-1].signals


def test_the_line_keeps_the_meters_uncertainty_clear():
    assert trend.trend([at(1, 0.9, uncertainty=0.05)]).line == pytest.approx((0.85, 1.15))
    # A meter that is no better than the line itself leaves no room.
    assert trend.trend([at(1, 0.9, uncertainty=0.3)]).line == (1, 1)


def test_a_failed_check_after_the_baseline_counts():
    found = trend.trend([*level(20), at(20, 0.7, failed=True), at(21, 0.95)])
    assert found.points[20].role == "watched"
    assert "failed" in found.points[20].signals
    # z = 0.95 - 0.2 * 0.25 = 0.9; back at 0.95 after it: 0.91, still outside.
    assert found.points[21].smoothed.z == pytest.approx(0.91)
    assert (found.meaning.code, found.meaning.direction) == ("drifting", "down")


def test_only_what_asks_for_somebody_is_an_alarm():
    codes = {name: trend.trend_alarm(worked_out(one)) for name, one in SERIES.items()}
    loud = {one.code for one in codes.values() if one}
    assert loud == {"failed", "beyond", "drifting"}
    for name, one in SERIES.items():
        assert bool(codes[name]) == (one["expected"]["meaning"]["code"] in loud)


def test_series_are_of_one_laser_handpiece_and_mode():
    said = {
        "verification_id": "v1",
        "device_id": "d",
        "handpiece_id": "h",
        "mode": "continuous",
        "verified_at": "2026-03-02T10:00:00.000+01:00",
        "ratio": "0.9300",
        "meter_uncertainty": "0.05",
        "verdict": "fail",
    }
    found = trend.of_verifications([said, {**said, "verification_id": "v2", "mode": "pulsed"}])
    assert found.keys() == {("d", "h", "continuous"), ("d", "h", "pulsed")}
    assert found["d", "h", "continuous"] == [
        Check("v1", "2026-03-02T10:00:00.000+01:00", 0.93, 0.05, failed=True)
    ]
