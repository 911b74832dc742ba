"""A device's declared limits, said at the field that a person typed."""

import pytest

from api.dose.limits import check_limits
from api.errors import BadInput
from tests.dose.settings import CONTINUOUS, GATED, PULSED

TYPED = {
    "wavelength": "10.6 um",
    "emission": {
        "mode": "gated",
        "power": "4 W",
        "power_kind": "peak",
        "gate_on": "20 ms",
        "gate_off": "30 ms",
    },
}
ENERGY = {
    "wavelength": "10.6 um",
    "emission": {"mode": "pulsed", "pulse_energy": "33 mJ", "repetition_rate": "140 Hz"},
}


def test_limits_are_said_at_the_field_that_was_typed() -> None:
    problems = check_limits(TYPED, {"peak_power": {"max": "3 W"}, "gate_on": {"min": "21 ms"}})
    assert problems == {
        "emission.power": "peak power 4 W is above the device's maximum, 3 W",
        "emission.gate_on": "gate on 20 ms is below the device's minimum, 21 ms",
    }


def test_a_limit_itself_is_allowed() -> None:
    limits = {"peak_power": {"max": "4000 mW"}, "average_power": {"min": "1.6 W", "max": "1.6 W"}}
    assert check_limits(TYPED, limits) == {}


def test_a_value_that_only_follows_is_checked_too() -> None:
    # 33 mJ x 140 Hz = 4.62 W.
    assert check_limits(ENERGY, {"average_power": {"max": "4.5 W"}}) == {
        "emission.average_power": "average power 4.62 W is above the device's maximum, 4.5 W"
    }


@pytest.mark.parametrize("limit", ["3", "3 J", "3,5 W"])
def test_an_unreadable_limit_is_refused(limit: str) -> None:
    with pytest.raises(BadInput) as caught:
        check_limits(TYPED, {"peak_power": {"max": limit}})
    assert list(caught.value.errors) == ["limits.peak_power.max"]
    assert caught.value.errors["limits.peak_power.max"][0].startswith("must be a power")


def test_limits_of_a_device_are_said_where_they_were_passed() -> None:
    gated = {"wavelength": "10.6 um", "emission": {**GATED, "gate_off": "30 ms"}}
    every = {
        "average_power": {"max": "1.5 W"}, "peak_power": {"min": "5 W"},
        "gate_on": {"max": "19 ms"},
        "gate_off": {"min": "31 ms"},
    }  # fmt: skip
    assert check_limits(gated, every) == {
        "emission.average_power": "average power 1.6 W is above the device's maximum, 1.5 W",
        "emission.power": "peak power 4 W is below the device's minimum, 5 W",
        "emission.gate_on": "gate on 20 ms is above the device's maximum, 19 ms",
        "emission.gate_off": "gate off 30 ms is below the device's minimum, 31 ms",
    }
    # A continuous power is both; the first of them is said.
    assert check_limits(
        CONTINUOUS, {"average_power": {"max": "3 W"}, "peak_power": {"max": "2 W"}}
    ) == {"emission.power": "average power 4 W is above the device's maximum, 3 W"}
    # 50 mJ in 400 us: 125 W, 4 %.
    assert check_limits(PULSED, {"peak_power": {"max": "100 W"}, "duty_cycle": {"max": "3 %"}}) == {
        "emission.peak_power": "peak power 125 W is above the device's maximum, 100 W",
        "emission.duty_cycle": "duty cycle 4 % is above the device's maximum, 3 %",
    }
    assert (
        check_limits(PULSED, {"gate_on": {"min": "1 s"}, "repetition_rate": {"max": "100 Hz"}})
        == {}
    )
    with pytest.raises(BadInput) as caught:
        check_limits(PULSED, {"duty_cycle": {"min": "5 W"}})
    assert caught.value.code == "bad_limit"
    assert list(caught.value.errors) == ["limits.duty_cycle.min"]


def test_a_limit_is_said_where_its_value_was_typed() -> None:
    over = {"average_power": {"max": "3 W"}, "peak_power": {"max": "2 W"}}
    # The panel's power and the average both: the average is at fault.
    both = {"mode": "pulsed", "power": "4 W", "power_kind": "average", "average_power": "4 W",
            "repetition_rate": "100 Hz"}  # fmt: skip
    assert list(check_limits({**PULSED, "emission": both}, over)) == ["emission.average_power"]
    # No panel's power: nobody typed it.
    named = {"mode": "continuous", "average_power": "4 W"}
    assert list(check_limits({**CONTINUOUS, "emission": named}, over)) == [
        "emission.average_power", "emission.peak_power"]  # fmt: skip
