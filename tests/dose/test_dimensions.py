"""Every formula keeps its dimension, and refuses what it does not hold for."""

import inspect
import math
from fractions import Fraction

import pytest

from api.dose import heating, tissue
from api.errors import BadInput
from tests.dose.physics import TEXTS, formulas, unit_and_exponents

# Fits to measurements hold for one set of units and cannot scale, nor can the logarithm of a rate.
EMPIRICAL = (
    tissue.water_extinction_coefficient,
    tissue.measured_trend_depth_m,
    heating.damage_rate_per_s,
    heating.damage_temperature_k,
)
# Where any number above zero will not do.
SAMPLES = {
    "gate_on_s": 0.055, "repetition_rate_hz": 200.0, "duty_cycle": 0.06, "pulse_period_s": 0.005,
    "pulse_duration_s": 0.0003, "shape_factor": 1.0, "beam_quality_m2": 1.5, "mirror_count": 7.0,
    "fluence_j_m2": 1.9,
}  # fmt: skip
# Four changes of the units of metre, kilogram, second, kelvin. Powers of two keep floats exact, so
# that only the formula itself can make a difference.
CHANGES = ((2, 1, 1, 1), (1, 2, 1, 1), (1, 1, 2, 1), (1, 1, 1, 2), (4, 8, 2, 16))
SCALING = [function for function in formulas() if function not in EMPIRICAL]


def _factor(name: str, change: tuple[int, ...]) -> float:
    _, exponents = unit_and_exponents(name)
    return math.prod(float(Fraction(c) ** e) for c, e in zip(change, exponents, strict=True))


def arguments_of(function) -> dict[str, float | str]:
    """Return arguments that a formula takes."""
    names = inspect.signature(function).parameters
    usual = {name: 0.7 + 0.01 * place for place, name in enumerate(names)}
    return {name: TEXTS.get(name, SAMPLES.get(name, usual[name])) for name in names}


@pytest.mark.parametrize("function", SCALING, ids=lambda f: f.__name__)
@pytest.mark.parametrize("change", CHANGES)
def test_a_formula_keeps_its_dimension(function, change: tuple[int, ...]) -> None:
    """Change the units: the result must change as its name says."""
    start = arguments_of(function)
    scaled = {n: v if n in TEXTS else v * _factor(n, change) for n, v in start.items()}
    expected = function(**start) * _factor(function.__name__, change)
    assert function(**scaled) == pytest.approx(expected, rel=1e-12)


def test_the_test_of_dimensions_sees_a_wrong_one() -> None:
    def steady_depth_m(*, fluence_j_m2: float, threshold_j_m2: float) -> float:
        return fluence_j_m2 / threshold_j_m2

    with pytest.raises(AssertionError):
        test_a_formula_keeps_its_dimension(steady_depth_m, (2, 1, 1, 1))


@pytest.mark.parametrize("function", formulas(), ids=lambda f: f.__name__)
@pytest.mark.parametrize("value", [-1.0, math.nan, math.inf])
def test_a_formula_refuses_what_it_does_not_hold_for(function, value: float) -> None:
    for wrong in inspect.signature(function).parameters:
        if wrong in TEXTS:
            continue
        with pytest.raises(BadInput) as caught:
            function(**arguments_of(function) | {wrong: value})
        assert wrong in caught.value.errors
