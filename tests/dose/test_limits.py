"""A device's declared limits, said at the field that a person typed."""

import pytest

from api.dose.limits import check_limits
from api.errors import BadInput

GATED = {
    "wavelength": "10.6 um",
    "emission": {
        "mode": "gated",
        "power": "4 W",
        "power_kind": "peak",
        "gate_on": "20 ms",
        "gate_off": "30 ms",
    },
}
PULSED = {
    "wavelength": "10.6 um",
    "emission": {"mode": "pulsed", "pulse_energy": "33 mJ", "repetition_rate": "140 Hz"},
}


def test_limits_are_said_at_the_field_that_was_typed() -> None:
    problems = check_limits(GATED, {"peak_power": {"max": "3 W"}, "gate_on": {"min": "21 ms"}})
    assert problems == {
        "emission.power": "peak power 4 W is above the device's maximum, 3 W",
        "emission.gate_on": "gate on 20 ms is below the device's minimum, 21 ms",
    }


def test_a_limit_itself_is_allowed() -> None:
    limits = {"peak_power": {"max": "4000 mW"}, "average_power": {"min": "1.6 W", "max": "1.6 W"}}
    assert check_limits(GATED, limits) == {}


def test_a_value_that_only_follows_is_checked_too() -> None:
    # 33 mJ x 140 Hz = 4.62 W.
    assert check_limits(PULSED, {"average_power": {"max": "4.5 W"}}) == {
        "emission.average_power": "average power 4.62 W is above the device's maximum, 4.5 W"
    }


@pytest.mark.parametrize("limit", ["3", "3 J", "3,5 W"])
def test_an_unreadable_limit_is_refused(limit: str) -> None:
    with pytest.raises(BadInput) as caught:
        check_limits(GATED, {"peak_power": {"max": limit}})
    assert list(caught.value.errors) == ["limits.peak_power.max"]
