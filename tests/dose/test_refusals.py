"""What a formula refuses, it names: a stable code, the argument with its unit, the value given.

The names and what each demands are those of the docstrings ("Raises"), the codes those of
api/dose; no expected text comes from running the code.
"""

import inspect
import math

import pytest

from api.dose import beam, emission, ranges, tissue
from api.errors import BadInput
from tests.dose.physics import TEXTS, formulas
from tests.dose.test_dimensions import arguments_of

NUMBERS = [
    (function, name)
    for function in formulas()
    for name in inspect.signature(function).parameters
    if name not in TEXTS
]


@pytest.mark.parametrize(("function", "name"), NUMBERS)
def test_a_number_that_is_refused_is_named_with_its_value(function, name: str) -> None:
    with pytest.raises(BadInput) as caught:
        function(**arguments_of(function) | {name: -1.0})
    assert caught.value.code == "out_of_range"
    assert list(caught.value.errors) == [name]
    (text,) = caught.value.errors[name]
    assert text == caught.value.message
    assert text.startswith(f"{name} is -1.0, ")


@pytest.mark.parametrize(
    ("function", "name", "code"),
    [
        (emission.shape_factor, "pulse_shape", "unknown_shape"),
        (beam.spot_diameter_m, "diameter_definition", "unknown_definition"),
    ],
)
def test_a_text_that_is_none_of_the_choices_is_refused(function, name: str, code: str) -> None:
    with pytest.raises(BadInput) as caught:
        function(**arguments_of(function) | {name: "oval"})
    assert caught.value.code == code
    assert caught.value.errors == {name: [f"{name} is 'oval'"]}


# The demand, what is just inside it and what is just outside; "and at most" belongs to both.
DEMANDS = [
    (ranges.require_above_zero, "above 0", 5e-324, 0.0),
    (ranges.require_not_negative, "0 or more", 0.0, -5e-324),
    (ranges.require_one_or_more, "1 or more", 1.0, 1 - 2**-53),
    (ranges.require_below_half_turn, "below pi", math.nextafter(math.pi, 0), math.pi),
    (ranges.require_fraction, "above 0 and at most 1", 5e-324, 0.0),
    (ranges.require_fraction, "above 0 and at most 1", 1.0, 1 + 2**-52),
    (ranges.require_whole, "a whole number of 0 or more", 0.0, 0.5),
    (ranges.require_whole, "a whole number of 0 or more", 3.0, -1.0),
    (ranges.require_whole, "a whole number of 0 or more", 7.0, math.inf),
]


@pytest.mark.parametrize(("require", "demand", "inside", "outside"), DEMANDS)
def test_a_demand_holds_to_its_very_end(require, demand: str, inside: float, outside: float):
    require(length_m=inside, width_m=inside)
    with pytest.raises(BadInput) as caught:
        require(length_m=inside, width_m=outside)
    assert caught.value.code == "out_of_range"
    assert caught.value.errors == {"width_m": [f"width_m is {outside}, it must be {demand}"]}
    assert caught.value.facts == {"given": outside}


def test_a_threshold_itself_is_not_above_it() -> None:
    ranges.require_above_threshold(threshold=2.0, fluence_j_m2=math.nextafter(2.0, 3.0))
    with pytest.raises(BadInput) as caught:
        ranges.require_above_threshold(threshold=2.0, fluence_j_m2=2.0)
    assert caught.value.code == "out_of_range"
    assert caught.value.errors == {"fluence_j_m2": ["fluence_j_m2 is 2.0, it must be above 2.0"]}
    assert caught.value.facts == {"given": 2.0}


@pytest.mark.parametrize("power_w", [2.999, 10.001])
def test_a_trend_is_not_drawn_beyond_what_was_measured(power_w: float) -> None:
    # 3 to 10 W, as the paper says.
    with pytest.raises(BadInput) as caught:
        tissue.measured_trend_depth_m(power_w=power_w)
    assert caught.value.code == "out_of_range"
    assert caught.value.errors == {"power_w": [f"power_w is {power_w}, not measured"]}
    tissue.measured_trend_depth_m(power_w=3.0)
    tissue.measured_trend_depth_m(power_w=10.0)
