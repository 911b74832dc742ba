"""Steps that are kept, and intervals of both sides of a dose.

Expected values are worked out beside each check from the words of the docstrings and the contract;
the limits themselves are those of `constants.json` with their sources.
"""

import pytest

from api.dose.evaluate import respond
from api.dose.steps import Band, Result, Steps
from tests.dose.settings import CONTINUOUS, PULSED


def test_steps_are_not_worked_out_twice() -> None:
    calls = []

    def half(*, x: float) -> float:
        calls.append(x)
        return x / 2

    steps = Steps()
    one = steps.result("half", "f", half, {"x": 4.0})
    assert one == Result(2.0, "f")
    assert one.ends == (2.0, 2.0)
    assert steps.result("half", "f", half, {"x": 4.0}) is one
    assert calls == [4.0]
    assert steps.result("half", "f", half, {"x": 6.0}) == Result(3.0, "f")
    # What was worked out first stays: the others are compared with it.
    assert steps.result("half", "f", half, {"x": 4.0}) is one
    assert calls == [4.0, 6.0]
    band = steps.result("pair", "g", lambda *, x: (x, 2 * x), {"x": 1.0})
    assert band == Band(1.0, 2.0, "g")
    assert band.ends == (1.0, 2.0)
    kept = steps.once("kind", 1, lambda: "a")
    assert (kept, steps.once("kind", 1, lambda: "b")) == ("a", "a")
    assert (steps.once("kind", 2, lambda: "b"), steps.once("kind", 1, lambda: "c")) == ("b", "a")


def test_intervals_stay_inside_what_can_be() -> None:
    """An interval of two standard uncertainties ends at 0, but for an overlap."""
    request = {
        **PULSED, "delivery": {"verified_ratio": 0.5, "verified_ratio_uncertainty": 0.6},
        "motion": {"speed": "36 mm/s"}, "uncertainty": {"spot.diameter": 0.2},
    }  # fmt: skip
    answer = respond(request)
    power = answer["intervals"]["delivered"]["average_power"]
    # 2.5 W, 120 % to either side.
    assert power == {"low": 0.0, "high": pytest.approx(5.5, rel=1e-6), "unit": "W"}
    # 1 - v / (f d) = 0.1; du = (v / (f d)) 20 % = 0.18, twice to either side.
    overlap = answer["intervals"]["set"]["overlap"]
    assert overlap["low"] == pytest.approx(0.1 - 0.36, rel=1e-4)
    assert overlap["high"] == pytest.approx(0.1 + 0.36, rel=1e-4)
    assert answer["intervals"]["set"]["spot_diameter"] == {
        "low": pytest.approx(0.24), "high": pytest.approx(0.56), "unit": "mm",
    }  # fmt: skip
    # What rests on the tissue has no interval, as none of its properties has one.
    for name in ("absorption_depth", "thermal_relaxation_time", "pulse_depth"):
        assert answer["intervals"]["set"][name] == "not stated"
    # A literature range rests on nothing; counts have none.
    assert "thermal_damage" not in answer["intervals"]["set"]
    assert respond(CONTINUOUS)["intervals"] == {"coverage_factor": 2, "set": {}, "delivered": None}
