"""Every formula of the hazards scales as it says, in each of its inputs.

Distances keep their dimension under a change of units. A limit carries constants of one set of
units in it, so that there one input is scaled at a time and the law that is printed for it must
show. ICNIRP 2013 and Directive 2006/25/EC for limits and apertures, EN 207 for grades and the
factors of eyewear, read as ``api/dose/references.md`` says.
"""

import inspect
import math
from collections.abc import Callable, Iterable
from typing import NamedTuple

import pytest

from api.dose import hazard
from api.dose.hazard import distances, editions, eyewear, limits, train
from api.dose.hazard.evaluate import respond
from tests.dose import test_dimensions as dose
from tests.dose.physics import formulas

FREE_OF_CONSTANTS = (
    distances.direct_distance_m,
    distances.lens_distance_m,
    distances.tip_distance_m,
    distances.diffuse_distance_m,
    eyewear.accumulation_factor,
)
# Powers of ten over a number of nanometres: such a fit does not scale. Their printed values are
# in the tests of the limits.
FITS = (limits.c_a, limits.c_c)
TEXTS = {"target", "edition", "material"}


class Law(NamedTuple):
    """By what ``result`` is multiplied where one input is, with the others as ``at`` says."""

    function: Callable
    scaled: str
    by: float
    expected: float
    at: dict[str, float | str]
    result: Callable[..., float] = float


def _power_of_ten(exponent: float) -> float:
    return 10.0**exponent


def _rule(name: str) -> Callable[[dict[str, float]], float]:
    return lambda rules: rules[name]


EYE = {"wavelength_m": 5e-6, "exposure_time_s": 0.02, "target": "eye"}
LONG_EYE = EYE | {"exposure_time_s": 20.0}
RETINA = EYE | {"wavelength_m": 532e-9}
SKIN = EYE | {"target": "skin"}
BEAM = {**EYE, "beam_diameter_m": 0.02}
THIN = {**EYE, "beam_diameter_m": 0.0001}
TRAIN = {
    **EYE, "pulse_duration_s": 1e-4, "repetition_rate_hz": 100.0, "exposure_time_s": 0.1,
    "edition": "ICNIRP 2013",
}  # fmt: skip
RETINAL_TRAIN = TRAIN | {"wavelength_m": 532e-9, "edition": "2006/25/EC"}
SHORT = {"wavelength_m": 532e-9, "exposure_time_s": 2e-9}
D, IR = {"wavelength_m": 5e-6, "irradiance_w_m2": 3e6}, {"wavelength_m": 5e-6, "fluence_j_m2": 3e4}
LAWS = [
    # 5600 t^0.25 up to 10 s and 1000 W/m2 beyond, one band from 2.6 um on; the retina 18 t^0.75.
    Law(limits.limit_fluence_j_m2, "exposure_time_s", 16, 2, EYE),
    Law(limits.limit_fluence_j_m2, "exposure_time_s", 16, 2, SKIN),
    Law(limits.limit_fluence_j_m2, "exposure_time_s", 3, 3, LONG_EYE),
    Law(limits.limit_fluence_j_m2, "exposure_time_s", 16, 8, RETINA),
    Law(limits.limit_fluence_j_m2, "wavelength_m", 2, 1, EYE),
    Law(limits.limit_irradiance_w_m2, "exposure_time_s", 16, 1 / 8, EYE),
    Law(limits.limit_irradiance_w_m2, "exposure_time_s", 3, 1, LONG_EYE),
    Law(limits.limit_irradiance_w_m2, "exposure_time_s", 16, 1 / 2, RETINA),
    Law(limits.limit_irradiance_w_m2, "wavelength_m", 2, 1, EYE),
    Law(limits.large_area_irradiance_w_m2, "exposed_area_m2", 2, 1 / 2, {"exposed_area_m2": 0.02}),
    Law(limits.large_area_irradiance_w_m2, "exposed_area_m2", 2, 1, {"exposed_area_m2": 0.002}),
    Law(limits.large_area_irradiance_w_m2, "exposed_area_m2", 2, 1, {"exposed_area_m2": 0.2}),
    # 1.5 t^(3/8) mm from 0.35 s to 10 s.
    Law(limits.limiting_aperture_m, "exposure_time_s", 16, 2**1.5, EYE | {"exposure_time_s": 0.5}),
    Law(limits.limiting_aperture_m, "exposure_time_s", 3, 1, LONG_EYE),
    Law(limits.limiting_aperture_m, "wavelength_m", 2, 1, EYE),
    # A beam wider than the aperture counts as it is, as does one of less than 1 mm.
    Law(limits.averaged_diameter_m, "beam_diameter_m", 2, 2, BEAM),
    Law(limits.averaged_diameter_m, "beam_diameter_m", 2, 2, THIN),
    Law(limits.averaged_diameter_m, "exposure_time_s", 2, 1, BEAM),
    Law(limits.averaged_diameter_m, "wavelength_m", 2, 1, BEAM),
    # H(pulse); H(exposure) / N; H(pulse) N^-0.25.
    Law(train.pulse_limits_j_m2, "pulse_duration_s", 16, 2, TRAIN, _rule(train.SINGLE)),
    Law(train.pulse_limits_j_m2, "repetition_rate_hz", 2, 1, TRAIN, _rule(train.SINGLE)),
    Law(train.pulse_limits_j_m2, "repetition_rate_hz", 2, 1 / 2, TRAIN, _rule(train.WHOLE)),
    Law(train.pulse_limits_j_m2, "exposure_time_s", 16, 2 / 16, TRAIN, _rule(train.WHOLE)),
    Law(train.pulse_limits_j_m2, "wavelength_m", 2, 1, TRAIN, _rule(train.WHOLE)),
    Law(train.pulse_limits_j_m2, "repetition_rate_hz", 16, 1 / 2, RETINAL_TRAIN,
        _rule(train.ADDING_UP)),
    # A radiant exposure whatever the time, within a row.
    Law(editions.short_retinal_j_m2, "exposure_time_s", 1000, 1, SHORT),
    Law(editions.short_retinal_j_m2, "wavelength_m", 1.5, 1, SHORT),
    # Densities and grades are exponents of ten.
    Law(eyewear.optical_density, "exposure_over_limit", 40, 40, {"exposure_over_limit": 3.0},
        _power_of_ten),
    Law(eyewear.grade_continuous, "irradiance_w_m2", 100, 100, D, _power_of_ten),
    Law(eyewear.grade_continuous, "wavelength_m", 2, 1, D, _power_of_ten),
    # From 1400 nm on a grade stands for a hundred times the irradiance.
    Law(eyewear.grade_continuous, "wavelength_m", 10, 1 / 100,
        D | {"wavelength_m": 532e-9}, _power_of_ten),
    Law(eyewear.grade_pulsed, "fluence_j_m2", 100, 100, IR, _power_of_ten),
    Law(eyewear.grade_pulsed, "wavelength_m", 2, 1, IR, _power_of_ten),
    Law(eyewear.beam_size_factor, "beam_diameter_m", 4, 4**1.7,
        {"beam_diameter_m": 0.002, "material": "glass"}),
    Law(eyewear.beam_size_factor, "beam_diameter_m", 4, 4**1.1693,
        {"beam_diameter_m": 0.002, "material": "plastic"}),
    Law(eyewear.beam_size_factor, "beam_diameter_m", 4, 1,
        {"beam_diameter_m": 0.02, "material": "glass"}),
]  # fmt: skip


def unproven(functions: Iterable[Callable]) -> list[str]:
    """Return each "function" or "function.input" that nothing here scales."""
    lawful = {(law.function, law.scaled) for law in LAWS}
    missing = []
    for function in functions:
        if function in (*FREE_OF_CONSTANTS, *FITS):
            continue
        inputs = [name for name in inspect.signature(function).parameters if name not in TEXTS]
        if not any((function, name) in lawful for name in inputs):
            missing.append(function.__name__)
        else:
            missing += [f"{function.__name__}.{n}" for n in inputs if (function, n) not in lawful]
    return missing


def _check(law: Law) -> None:
    before = law.result(law.function(**law.at))
    after = law.result(law.function(**law.at | {law.scaled: law.at[law.scaled] * law.by}))
    assert before > 0
    assert after == pytest.approx(before * law.expected, rel=1e-12)


def test_every_formula_of_the_hazards_is_scaled_in_every_input() -> None:
    assert len(formulas(hazard)) >= 18
    assert unproven(formulas(hazard)) == []


def test_a_new_formula_that_nothing_scales_is_seen() -> None:
    def new_distance_m(*, power_w: float) -> float:
        return power_w

    assert unproven([*formulas(hazard), new_distance_m]) == ["new_distance_m"]


@pytest.mark.parametrize("function", FREE_OF_CONSTANTS, ids=lambda f: f.__name__)
@pytest.mark.parametrize("change", dose.CHANGES)
def test_a_distance_keeps_its_dimension(function: Callable, change: tuple[int, ...]) -> None:
    dose.test_a_formula_keeps_its_dimension(function, change)


@pytest.mark.parametrize("law", LAWS, ids=lambda law: f"{law.function.__name__}.{law.scaled}")
def test_a_formula_scales_as_its_law_says(law: Law) -> None:
    _check(law)


def test_the_test_of_laws_sees_a_wrong_one() -> None:
    for law in LAWS:
        with pytest.raises(AssertionError):
            _check(law._replace(expected=law.expected * 1.000001))


def test_other_units_change_nothing_in_an_answer() -> None:
    usual = {
        "wavelength": "10.6 um",
        "exposure_time": "10 s",
        "emission": {"power": "10 W"},
        "beam": {"diameter": "8 mm", "diameter_definition": "63 %", "full_divergence": "4 mrad"},
        "lens": {"focal_length": "100 mm", "beam_diameter": "8 mm", "diameter_definition": "63 %"},
        "tip": {"diameter": "0.8 mm", "full_divergence": "0.2 rad"},
        "skin": {"exposed_area": "200 cm^2"},
    }
    other = {
        "wavelength": "0.0106 mm",
        "exposure_time": "10000 ms",
        "emission": {"power": "0.01 kW"},
        "beam": {
            "diameter": "0.8 cm",
            "diameter_definition": "63 %",
            "full_divergence": "0.004 rad",
        },
        "lens": {
            "focal_length": "0.1 m",
            "beam_diameter": "0.008 m",
            "diameter_definition": "63 %",
        },
        "tip": {"diameter": "800 um", "full_divergence": "200 mrad"},
        "skin": {"exposed_area": "0.02 m^2"},
    }
    expected, found = respond(usual)["results"], respond(other)["results"]
    assert found.keys() == expected.keys()
    distances_found = [name for name in found if name.endswith("_distance")]
    assert len(distances_found) == 5
    for name, result in expected.items():
        if isinstance(result["value"], str):
            assert found[name]["value"] == result["value"]
        else:
            assert math.isclose(found[name]["value"], result["value"], rel_tol=1e-12), name
