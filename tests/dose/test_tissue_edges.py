"""Results on tissue, and up to where they are given.

Expected values are worked out beside each check from the words of the docstrings and the contract;
the limits themselves are those of `constants.json` with their sources.
"""

import math

import pytest

from api.dose.evaluate import respond
from api.dose.request import parse
from api.dose.steps import Result
from api.dose.tissue_results import pulse_limit
from tests.dose.settings import CONTINUOUS, PULSED, PULSES, SPOT, TISSUE

LONG = "it is offered for pulses below 0.5 ms only, for which the threshold was measured"
BELOW = "the mean fluence of one pulse is not above the ablation threshold"
LINE = "it is offered at 10.6 um only, where it was measured"
NODES = "no absorption values are held for this wavelength"
WEAK = "below 1.4 um soft tissue absorbs too little for a result on depth"
FULL = {"water_fraction": 0.7, "density": "1060 kg/m3", "specific_heat": "3600 J/kg/K",
        "conductivity": "0.5 W/m/K", "ablation_threshold": "10 J/cm2",
        "ablation_heat": "4 kJ/g"}  # fmt: skip


def _energy(fluence_j_cm2: float) -> str:
    return f"{fluence_j_cm2 * math.pi / 4 * 0.04**2!r} J"


@pytest.mark.parametrize(("change", "name", "reason"), [
    ({"emission": {**PULSES, "pulse_duration": "499 us"}}, "pulse_depth", None),
    ({"emission": {**PULSES, "pulse_duration": "500 us"}}, "pulse_depth", LONG),
    ({"emission": {**PULSES, "pulse_energy": _energy(10.01)}, "tissue": FULL}, "pulse_depth", None),
    ({"emission": {**PULSES, "pulse_energy": _energy(9.99)}, "tissue": FULL}, "pulse_depth",
     f"{BELOW}; in the centre of a Gaussian spot it is"),
    ({"emission": {**PULSES, "pulse_energy": _energy(5.01)}, "tissue": FULL}, "pulse_depth",
     f"{BELOW}; in the centre of a Gaussian spot it is"),
    ({"emission": {**PULSES, "pulse_energy": _energy(4.99)}, "tissue": FULL}, "pulse_depth", BELOW),
    ({"emission": {"mode": "pulsed", "pulse_energy": "50 mJ", "repetition_rate": "100 Hz"}},
     "pulse_depth", "the pulse duration is not known, and the depth holds for short pulses only"),
    ({"wavelength": "10.7 um"}, "pulse_depth", None),
    ({"wavelength": "10.5 um"}, "pulse_depth", None),
    ({"wavelength": "10.701 um"}, "pulse_depth", LINE),
    ({"wavelength": "10.499 um"}, "thermal_damage", LINE),
    ({"wavelength": "10.701 um"}, "absorption_depth", None),
    ({"wavelength": "11 um"}, "absorption_depth", None),
    ({"wavelength": "11.001 um"}, "absorption_depth", NODES),
    ({"wavelength": "9.2 um"}, "absorption_coefficient", None),
    ({"wavelength": "9.199 um"}, "absorption_coefficient", NODES),
    ({"wavelength": "2.75 um"}, "absorption_coefficient", None),
    ({"wavelength": "2.749 um"}, "absorption_coefficient", NODES),
    ({"wavelength": "3.001 um"}, "thermal_relaxation_time", NODES),
    ({"wavelength": "1.4 um"}, "absorption_depth", NODES),
    ({"wavelength": "1.399 um"}, "absorption_depth", WEAK),
    ({"wavelength": "1.399 um"}, "cut_depth", WEAK),
    ({"tissue": ...}, "absorption_depth", "no tissue is stated"),
    ({"tissue": FULL}, "thermal_damage",
     "it was measured in oral tissue: the kind of tissue is not stated"),
    ({"tissue": {"water_fraction": 0.7}}, "absorption_depth", None),
    ({"tissue": {"water_fraction": 0.7}}, "thermal_relaxation_time",
     "the tissue's density is not stated"),
    ({"tissue": {"water_fraction": 0.7, "density": "1 g/cm3"}}, "thermal_relaxation_time",
     "the tissue's specific heat is not stated"),
    ({"tissue": {"water_fraction": 0.7, "density": "1 g/cm3"}}, "pulse_depth",
     "the tissue's ablation threshold is not stated"),
    ({"tissue": {"density": "1 g/cm3"}}, "absorption_depth",
     "the tissue's water fraction is not stated"),
    ({"tissue": {"density": "1 g/cm3"}, "motion": {"speed": "5 mm/s"}}, "cut_depth", None),
    ({"tissue": {"ablation_heat": "4 kJ/g"}, "motion": {"speed": "5 mm/s"}}, "cut_depth",
     "the tissue's density is not stated"),
])  # fmt: skip
def test_results_on_tissue_have_their_reasons(change: dict, name: str, reason: str | None) -> None:
    request = {key: value for key, value in {**PULSED, **change}.items() if value is not ...}
    answer = respond(request)
    assert answer["absent"].get(name) == reason
    assert (name in answer["dose"]["set"]) is (reason is None)


def test_a_cut_by_hand() -> None:
    """4 W, 0.4 mm, 5 mm/s: 4 / (h d v) is 0.4167 mm at 4.8 kJ/cm3 and 0.5 mm at 4.0.

    With a heat of its own, 4 kJ/g x 1 g/cm3, both ends are the same.
    """
    request = {**CONTINUOUS, "spot": SPOT, "motion": {"speed": "5 mm/s"}, "tissue": TISSUE}
    cut = respond(request)["dose"]["set"]["cut_depth"]
    assert (cut["low"], cut["high"]) == (pytest.approx(4 / 9.6), pytest.approx(0.5))
    own = {**request, "tissue": {"density": "1 g/cm3", "ablation_heat": "4 kJ/g"}}
    cut = respond(own)["dose"]["set"]["cut_depth"]
    assert (cut["low"], cut["high"]) == (pytest.approx(0.5), pytest.approx(0.5))
    assert cut["formula"] == "api.dose.tissue.cut_depth_m"
    for gone in ("spot", "motion"):
        assert (
            "cut_depth"
            not in respond({k: v for k, v in request.items() if k != gone})["dose"]["set"]
        )


def test_results_on_tissue_say_by_which_formula() -> None:
    found = respond({**PULSED, "motion": {"speed": "5 mm/s"}})["dose"]["set"]
    assert {name: found[name]["formula"] for name in FORMULAS} == FORMULAS


FORMULAS = {
    "absorption_coefficient": "api.dose.tissue.tissue_absorption_per_m",
    "absorption_depth": "api.dose.tissue.absorption_depth_m",
    "thermal_relaxation_time": "api.dose.tissue.relaxation_time_s",
    "pulse_depth": "api.dose.tissue_results.pulse_depth_band",
    "cut_depth": "api.dose.tissue.cut_depth_m",
    "thermal_damage": "literature",
}


def test_at_its_threshold_a_pulse_removes_nothing() -> None:
    # Nothing is left above the threshold itself; the centre of a Gaussian spot has twice the mean.
    given = parse({**PULSED, "tissue": FULL})
    threshold = given.tissue["ablation_threshold"]

    def limit(fluence_j_m2: float) -> str | None:
        known = {"fluence_mean": Result(fluence_j_m2, "given"),
                 "pulse_duration": Result(4e-4, "given")}  # fmt: skip
        return pulse_limit(given, known)

    assert limit(threshold) == f"{BELOW}; in the centre of a Gaussian spot it is"
    assert limit(threshold / 2) == BELOW
