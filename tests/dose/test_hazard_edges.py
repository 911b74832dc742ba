"""The hazard engine at the ends of what it holds for: which side of each line a value is on.

Limits and corrections are those of the tables named in `constants.json` (ICNIRP 2013; grades of
EN 207; classes of IEC 60825-1, from memory); distances are worked out by hand from the geometry in
each docstring. Which side a boundary itself belongs to is what the docstrings say.
"""

import math

import pytest

from api.dose.hazard import distances, eyewear, limits
from api.dose.hazard.evaluate import respond
from api.dose.hazard.request import parse
from api.dose.hazard.table import as_lines
from api.dose.hazard.train import pulse_limits_j_m2
from api.errors import BadInput

CO2 = {"wavelength": "10.6 um", "exposure_time": "10 s", "emission": {"power": "10 W"}}
TRAIN = {"pulse_energy": "10 mJ", "pulse_duration": "100 us", "repetition_rate": "100 Hz"}
ONE = {"wavelength": "10.6 um", "emission": {"pulse_energy": "10 mJ", "pulse_duration": "100 us"}}
BEAM = {"diameter": "8 mm", "diameter_definition": "63 %", "full_divergence": "4 mrad"}
LENS = {"focal_length": "100 mm", "beam_diameter": "8 mm", "diameter_definition": "63 %"}
TIP = {"diameter": "0.8 mm", "full_divergence": "0.2 rad"}


def _nm(nanometres: float) -> float:
    return nanometres * 1e-9


@pytest.mark.parametrize(("nanometres", "factor"), [
    (400, 1), (700, 1), (701, 10**0.002), (800, 10**0.2), (1049, 10**0.698), (1050, 5), (1200, 5),
])  # fmt: skip
def test_less_is_absorbed_by_the_retinas_pigment(nanometres: float, factor: float) -> None:
    assert limits.c_a(wavelength_m=_nm(nanometres)) == pytest.approx(factor, rel=1e-9)


@pytest.mark.parametrize(("nanometres", "factor"), [
    (1060, 1), (1149.9, 1), (1160, 10**0.18), (1199, 10**0.882), (1200.001, 8 + 10**-2.0),
    (1250, 9), (1300, 108),
])  # fmt: skip
def test_more_is_absorbed_before_the_retina(nanometres: float, factor: float) -> None:
    assert limits.c_c(wavelength_m=_nm(nanometres)) == pytest.approx(factor, rel=1e-4)


@pytest.mark.parametrize(("nanometres", "seconds", "target", "limit_j_m2"), [
    (650, 1e-11, "eye", 2e-3), (650, 4.99e-6, "eye", 2e-3), (650, 5e-6, "eye", 18 * 5e-6**0.75),
    (650, 10, "eye", 100), (650, 30_000, "eye", 300_000), (800, 1e-6, "eye", 2e-3 * 10**0.2),
    (1049, 1e-9, "eye", 2e-3 * 10**0.698), (1050, 1e-9, "eye", 2e-2),
    (1160, 1.3e-5, "eye", 90 * 10**0.18 * 1.3e-5**0.75), (1160, 20, "eye", 1000 * 10**0.18),
    (1400, 1e-9, "eye", 1000), (1400, 1e-3, "eye", 5600 * 1e-3**0.25), (1500, 5, "eye", 1e4),
    (1800, 1, "eye", 5600), (2600, 1e-9, "eye", 100), (10_600, 1e-7, "eye", 5600 * 1e-7**0.25),
    (10_600, 0.99e-7, "eye", 100), (1e6, 20, "eye", 20_000),
    (650, 1e-9, "skin", 200), (650, 1e-7, "skin", 11_000 * 1e-7**0.25), (650, 20, "skin", 40_000),
    (1399, 1e-8, "skin", 1000), (1400, 20, "skin", 20_000), (10_600, 1e-9, "skin", 100),
])  # fmt: skip
def test_a_limit_is_that_of_its_row(nanometres, seconds, target: str, limit_j_m2: float) -> None:
    place = {"wavelength_m": _nm(nanometres), "exposure_time_s": seconds, "target": target}
    assert limits.offered(**place)
    assert limits.limit_fluence_j_m2(**place) == pytest.approx(limit_j_m2, rel=1e-9)
    of_time = limits.limit_irradiance_w_m2(**place)
    assert of_time == pytest.approx(limit_j_m2 / seconds, rel=1e-9)


@pytest.mark.parametrize(("nanometres", "seconds", "target", "offered"), [
    (650, 0.99e-11, "eye", False), (650, 0.99e-9, "skin", False), (1400, 0.99e-9, "eye", False),
    (399, 1, "eye", False), (1.001e6, 1, "skin", True), (650, 30_000.1, "eye", False),
    (599, 10, "eye", True), (599, 10.001, "eye", False), (600, 10.001, "eye", True),
    (599, 10.001, "skin", True),
])  # fmt: skip
def test_what_is_not_offered(nanometres, seconds, target: str, offered: bool) -> None:
    # Requests end at 1 mm; the table's last row goes on.
    place = {"wavelength_m": _nm(nanometres), "exposure_time_s": seconds, "target": target}
    assert limits.offered(**place) is offered
    if limits._row(place["wavelength_m"], seconds, target) is None:
        with pytest.raises(KeyError, match="no limit is offered"):
            limits.limit_fluence_j_m2(**place)
        assert limits.is_thermal(**place) is False


def test_what_is_protected() -> None:
    assert limits.is_retinal(wavelength_m=1.399e-6, target="eye")
    assert not limits.is_retinal(wavelength_m=1.4e-6, target="eye")
    assert not limits.is_retinal(wavelength_m=1.399e-6, target="skin")
    assert limits.is_thermal(wavelength_m=1.06e-5, exposure_time_s=1e-7, target="eye")
    assert not limits.is_thermal(wavelength_m=1.06e-5, exposure_time_s=0.9e-7, target="eye")


@pytest.mark.parametrize(("wavelength_m", "seconds", "target", "aperture_m"), [
    (1.399e-6, 10, "eye", 7e-3), (1.4e-6, 0.1, "eye", 1e-3), (1e-4, 20, "eye", 3.5e-3),
    (1.06e-5, 0.3501, "eye", 1.5e-3 * 0.3501**0.375),
    (1.06e-5, 9.999, "eye", 1.5e-3 * 9.999**0.375),
    (1.06e-5, 10, "eye", 3.5e-3), (1e-3, 1, "skin", 3.5e-3), (6.5e-7, 1, "skin", 3.5e-3),
])  # fmt: skip
def test_apertures_at_their_ends(wavelength_m, seconds, target: str, aperture_m: float) -> None:
    place = {"wavelength_m": wavelength_m, "exposure_time_s": seconds, "target": target}
    assert limits.limiting_aperture_m(**place) == pytest.approx(aperture_m, rel=1e-12)


def test_beyond_a_hundred_micrometres_there_is_no_aperture() -> None:
    place = {"wavelength_m": 1.0001e-4, "exposure_time_s": 1.0, "target": "eye"}
    with pytest.raises(KeyError, match="no aperture is offered"):
        limits.limiting_aperture_m(**place)


@pytest.mark.parametrize(("beam_m", "wavelength_m", "seconds", "target", "over_m"), [
    (0.0, 1.06e-5, 0.1, "eye", 1e-3), (5e-4, 1.06e-5, 0.35, "eye", 5e-4),
    (5e-4, 1.06e-5, 10, "eye", 3.5e-3), (5e-4, 1.4e-6, 0.1, "eye", 5e-4),
    (5e-4, 6.5e-7, 0.1, "eye", 7e-3), (5e-4, 1.06e-5, 10, "skin", 5e-4),
    (1e-3, 1.06e-5, 10, "skin", 3.5e-3), (9.99e-4, 1.06e-5, 10, "skin", 9.99e-4),
    (5e-4, 6.5e-7, 10, "skin", 3.5e-3), (8e-3, 1.06e-5, 10, "eye", 8e-3),
    (0.0, 1.06e-5, 10, "skin", 3.5e-3),
])  # fmt: skip
def test_small_beams_are_averaged_as_the_tables_say(
    beam_m: float, wavelength_m: float, seconds: float, target: str, over_m: float
) -> None:
    found = limits.averaged_diameter_m(
        beam_diameter_m=beam_m, wavelength_m=wavelength_m, exposure_time_s=seconds, target=target
    )
    assert found == pytest.approx(over_m, rel=1e-12)


def test_pulses_add_up_where_the_edition_says_so() -> None:
    """H(pulse) N^-0.25 for the retina and, in the directive, for each thermal limit."""

    def rules(nanometres: float, **change: object) -> dict[str, float]:
        train = {
            "wavelength_m": _nm(nanometres), "pulse_duration_s": 1e-4, "repetition_rate_hz": 16.0,
            "exposure_time_s": 1.0, "target": "eye", "edition": "ICNIRP 2013",
        }  # fmt: skip
        return pulse_limits_j_m2(**(train | change))

    retinal = rules(650)
    single = 18 * 1e-4**0.75
    assert retinal == {
        "single pulse": pytest.approx(single), "whole exposure": pytest.approx(18 / 16),
        "adding up": pytest.approx(single / 2),
    }  # fmt: skip
    assert set(rules(10_600)) == {"single pulse", "whole exposure"}
    assert "adding up" in rules(10_600, edition="2006/25/EC")
    assert "adding up" not in rules(650, target="skin")
    # Shorter than 5 us the limit is no thermal one.
    assert "adding up" not in rules(650, pulse_duration_s=1e-6)
    # Less than one pulse in the exposure counts as one.
    assert rules(650, repetition_rate_hz=0.5)["whole exposure"] == pytest.approx(18)
    assert rules(650, repetition_rate_hz=1.5)["whole exposure"] == pytest.approx(12)


def test_distances_by_hand() -> None:
    # An area of pi / 4 m2 is a disc of 1 m.
    area = math.pi / 4
    direct = {"hazard_area_m2": area, "full_divergence_rad": 0.01}
    assert distances.direct_distance_m(**direct, beam_diameter_m=0.2) == pytest.approx(80)
    assert distances.direct_distance_m(**direct, beam_diameter_m=0.999) == pytest.approx(0.1)
    assert distances.direct_distance_m(**direct, beam_diameter_m=2.0) == 0
    focused = distances.lens_distance_m(
        hazard_area_m2=area, focal_length_m=0.1, beam_diameter_at_lens_m=0.005
    )
    assert focused == pytest.approx(20)
    # sqrt(8 A / pi) = sqrt 2 m, less 0.4142 m, on a cone of 2 tan(45 deg) = 2.
    tip = {"hazard_area_m2": area, "full_divergence_rad": math.pi / 2}
    found = distances.tip_distance_m(**tip, tip_diameter_m=math.sqrt(2) - 1)
    assert found == pytest.approx(0.5)
    assert distances.tip_distance_m(**tip, tip_diameter_m=2.0) == 0
    matt = {"hazard_area_m2": math.pi, "reflectance": 0.5}
    assert distances.diffuse_distance_m(**matt, angle_rad=0.0) == pytest.approx(math.sqrt(0.5))
    assert distances.diffuse_distance_m(**matt, angle_rad=math.pi / 3) == pytest.approx(0.5)
    assert distances.diffuse_distance_m(**matt, angle_rad=2.0) == 0


@pytest.mark.parametrize(("load", "wavelength_m", "grade"), [
    (0.5, 1.06e-5, 1), (1e4, 1.06e-5, 1), (1.001e4, 1.06e-5, 2), (1e13, 1.06e-5, 10),
    (1.001e13, 1.06e-5, None), (1e2, 1.4e-6, 1), (1.001e2, 1.4e-6, 2), (1.001e2, 1.401e-6, 1),
    (1e11, 6.5e-7, 10), (1.001e11, 6.5e-7, None),
])  # fmt: skip
def test_grades_against_a_continuous_beam(load, wavelength_m, grade) -> None:
    found = eyewear.grade_continuous(irradiance_w_m2=load, wavelength_m=wavelength_m)
    assert found == grade


@pytest.mark.parametrize(("load", "wavelength_m", "grade"), [
    (1.0, 1.06e-5, 1), (999, 1.06e-5, 1), (1001, 1.06e-5, 2), (0.999e12, 1.06e-5, 10),
    (1.001e12, 1.06e-5, None), (0.0499, 1.4e-6, 1), (0.0501, 1.4e-6, 2), (0.0501, 1.401e-6, 1),
    (0.499, 6.5e-7, 2), (0.501, 6.5e-7, 3), (4.99e7, 6.5e-7, 10), (5.01e7, 6.5e-7, None),
])  # fmt: skip
def test_grades_against_pulses(load, wavelength_m, grade) -> None:
    assert eyewear.grade_pulsed(fluence_j_m2=load, wavelength_m=wavelength_m) == grade


def test_a_large_beam_is_harder_on_a_filter_up_to_15_mm() -> None:
    def factor(beam_mm: float, material: str = "glass") -> float:
        return eyewear.beam_size_factor(beam_diameter_m=beam_mm / 1000, material=material)

    assert [factor(d) for d in (0.5, 1.0, 2.0)] == pytest.approx([1, 1, 2**1.7])
    assert [factor(d) for d in (14.9, 15.0, 30.0)] == pytest.approx([14.9**1.7, 15**1.7, 15**1.7])
    assert factor(2.0, "plastic") == pytest.approx(2**1.1693)
    add = eyewear.accumulation_factor
    assert add(repetition_rate_hz=3.2, window_s=5.0) == pytest.approx(2)
    assert add(repetition_rate_hz=0.1, window_s=5.0) == 1
    assert add(repetition_rate_hz=0.3, window_s=5.0) == pytest.approx(1.5**0.25)
    assert eyewear.optical_density(exposure_over_limit=100.0) == pytest.approx(2)
    assert eyewear.optical_density(exposure_over_limit=0.5) == 0


@pytest.mark.parametrize(("milliwatts", "nanometres", "name"), [
    (0.39, 650, "1"), (0.3901, 650, "2"), (1, 650, "2"), (1.001, 650, "3R"), (5, 650, "3R"),
    (5.001, 650, "3B"), (500, 650, "3B"), (500.1, 650, "4"), (0.1, 499, "2"), (0.1, 500, "1"),
])  # fmt: skip
def test_classes_at_their_limits(milliwatts: float, nanometres: float, name: str) -> None:
    found = eyewear.visible_class(power_w=milliwatts / 1000, wavelength_m=_nm(nanometres))
    assert found == name


def test_a_request_is_read_with_what_is_usual() -> None:
    given = parse(CO2)
    assert (given.wavelength_m, given.exposure_time_s, given.power_w) == (1.06e-5, 10, 10)
    assert (given.target, given.edition, given.material) == ("eye", "ICNIRP 2013", "glass")
    assert (given.reflectance, given.reflection_angle_rad, given.beam_diameter_m) == (1, 0, 0)
    assert given.with_beam_size_factor is False
    assert given.is_train is False
    assert given.average_power_w == 10
    for name in ("pulse_energy_j", "pulse_duration_s", "repetition_rate_hz", "beam_divergence_rad",
                 "lens_focal_length_m", "lens_beam_diameter_m", "tip_diameter_m",
                 "tip_divergence_rad", "exposed_area_m2", "accumulation_window_s"):  # fmt: skip
        assert getattr(given, name) is None, name
    single = parse(ONE)
    assert single.exposure_time_s == 1e-4
    assert single.average_power_w is None
    train = parse({**CO2, "emission": TRAIN})
    assert train.is_train
    assert train.average_power_w == pytest.approx(1)
    assert (train.pulse_duration_s, train.repetition_rate_hz) == (1e-4, 100)


def test_a_request_is_read_as_stated() -> None:
    stated = parse({
        **CO2, "target": "skin", "edition": "2006/25/EC",
        "beam": {**BEAM, "diameter_definition": "1/e2"},
        "lens": {**LENS, "diameter_definition": "1/e2"},
        "tip": TIP, "reflection": {"reflectance": 0.4, "angle": "30 deg"},
        "skin": {"exposed_area": "20 cm2"},
        "eyewear": {"material": "plastic", "beam_size_factor": True, "accumulation_window": "5 s"},
    })  # fmt: skip
    assert (stated.target, stated.edition, stated.material) == ("skin", "2006/25/EC", "plastic")
    # 1/e2 is sqrt 2 times 63 %; a tip stays 1/e2.
    assert stated.beam_diameter_m == pytest.approx(8e-3 / math.sqrt(2))
    assert stated.beam_divergence_rad == pytest.approx(4e-3 / math.sqrt(2))
    assert stated.lens_beam_diameter_m == pytest.approx(8e-3 / math.sqrt(2))
    assert stated.lens_focal_length_m == pytest.approx(0.1)
    assert (stated.tip_diameter_m, stated.tip_divergence_rad) == (pytest.approx(8e-4), 0.2)
    assert stated.reflectance == 0.4
    assert stated.reflection_angle_rad == pytest.approx(math.pi / 6)
    assert stated.exposed_area_m2 == pytest.approx(2e-3)
    assert stated.with_beam_size_factor is True
    assert stated.accumulation_window_s == 5.0
    as_63 = parse({**CO2, "beam": BEAM, "lens": LENS})
    assert (as_63.beam_diameter_m, as_63.lens_beam_diameter_m) == (8e-3, 8e-3)
    assert as_63.beam_divergence_rad == 4e-3


WITH_POWER = "does not go with a power: give the pulse energy instead"
LONG = {**TRAIN, "pulse_duration": "1 s", "repetition_rate": "1.00000001 Hz"}


@pytest.mark.parametrize(("change", "errors"), [
    ({"emission": {}}, {"emission": ["needs a power or a pulse energy"]}),
    ({"emission": {"pulse_duration": "1 s"}}, {"emission": ["needs a power or a pulse energy"]}),
    ({"emission": {**TRAIN, "power": "1 W"}}, {f"emission.{name}": [WITH_POWER] for name in TRAIN}),
    ({"emission": {"pulse_energy": "1 J"}}, {"emission.pulse_duration": ["is required"]}),
    ({"emission": ONE["emission"]},
     {"exposure_time": ["of a single pulse is its duration: leave it out"]}),
    ({"emission": LONG}, {"emission.pulse_duration": ["is longer than the pulse period"]}),
    ({"emission": TRAIN, "exposure_time": "99 us"},
     {"exposure_time": ["is shorter than a pulse"]}),
    ({"beam": {"full_divergence": "1 mrad"}}, {"beam.diameter_definition": ["is required"]}),
    ({"beam": {"diameter": "1 mm"}}, {"beam.diameter_definition": ["is required"]}),
    ({"lens": {"focal_length": "100 mm"}},
     {"lens.beam_diameter": ["is required"], "lens.diameter_definition": ["is required"]}),
    ({"tip": {"diameter": "1 mm"}}, {"tip.full_divergence": ["is required"]}),
    ({"tip": {"full_divergence": "0.1 rad"}}, {"tip.diameter": ["is required"]}),
    ({"skin": {}}, {"skin.exposed_area": ["is required"]}),
    ({"emission": ...}, {"emission": ["is required"]}),
    ({"wavelength": ...}, {"wavelength": ["is required"]}),
    ({"exposure_time": ...}, {"exposure_time": ["is required"]}),
    ({"emission": TRAIN, "exposure_time": ...}, {"exposure_time": ["is required"]}),
    ({"target": "nose"}, {"target": ["must be one of: eye, skin"]}),
    ({"edition": "1999"}, {"edition": ["must be one of: ICNIRP 2013, 2006/25/EC"]}),
    ({"beam": {**BEAM, "diameter_definition": "fwhm"}},
     {"beam.diameter_definition": ["must be one of: 63 %, 1/e2"]}),
    ({"eyewear": {"beam_size_factor": 1}},
     {"eyewear.beam_size_factor": ["must be true or false"]}),
    ({"eyewear": {"beam_size_factor": None}}, {"eyewear.beam_size_factor": ["must not be null"]}),
    ({"eyewear": {"accumulation_window": "7 s"}},
     {"eyewear.accumulation_window": ["must be one of: 5 s, 10 s"]}),
    ({"eyewear": {"material": "wood"}}, {"eyewear.material": ["must be one of: glass, plastic"]}),
])  # fmt: skip
def test_a_refusal_says_what_is_wrong_where(change: dict, errors: dict) -> None:
    request = {name: value for name, value in {**CO2, **change}.items() if value is not ...}
    with pytest.raises(BadInput) as refused:
        respond(request)
    assert refused.value.code == "bad_request"
    assert refused.value.errors == errors


@pytest.mark.parametrize("change", [
    {"emission": {**TRAIN, "pulse_duration": "1 s", "repetition_rate": "1 Hz"}},
    # What rounding makes of a duty cycle of 1.
    {"emission": {**TRAIN, "pulse_duration": "1 s", "repetition_rate": "1.000000001 Hz"}},
    {"emission": TRAIN, "exposure_time": "100 us"},
    {"emission": ONE["emission"], "exposure_time": "100 us"},
    {"beam": {"diameter": "0 mm"}},
    {"beam": {}},
])  # fmt: skip
def test_what_is_just_allowed(change: dict) -> None:
    assert respond({**CO2, **change})["results"]


EVERYTHING = {**CO2, "beam": BEAM, "lens": LENS, "tip": TIP}


def test_results_by_hand_say_where_they_are_from() -> None:
    """10 W, 1000 W/m2: an area of 0.01 m2."""
    answer = respond(EVERYTHING)
    assert answer["engine"] == "1.0.0"
    assert answer["edition"] == "ICNIRP 2013"
    results = answer["results"]
    disc = math.sqrt(0.04 / math.pi)
    tip = (math.sqrt(0.08 / math.pi) - 8e-4) / (2 * math.tan(0.1))
    load = 4 * 10 / (math.pi * 0.008**2)
    expected = {
        "exposure_limit_irradiance": (1000, "W/m2", "limits.limit_irradiance_w_m2"),
        "exposure_limit_fluence": (10_000, "J/m2", "limits.limit_fluence_j_m2"),
        "limiting_aperture": (3.5, "mm", "limits.limiting_aperture_m"),
        "direct_distance": ((disc - 0.008) / 0.004, "m", "distances.direct_distance_m"),
        "lens_distance": (disc * 100 / 8, "m", "distances.lens_distance_m"),
        "tip_distance": (tip, "m", "distances.tip_distance_m"),
        "diffuse_distance": (math.sqrt(0.01 / math.pi), "m", "distances.diffuse_distance_m"),
        "skin_distance": ((disc - 0.008) / 0.004, "m", "distances.direct_distance_m"),
        "optical_density": (math.log10(load / 1000), "1", "eyewear.optical_density"),
        "en207_d": (math.ceil(math.log10(load) - 3), "1", "eyewear.grade_continuous"),
    }
    assert set(results) == set(expected)
    for name, (value, unit, formula) in expected.items():
        assert results[name]["value"] == pytest.approx(value, rel=1e-9), name
        assert results[name]["unit"] == unit
        assert results[name]["formula"] == f"api.dose.hazard.{formula}"
        assert results[name]["sources"]
        assert "rule" not in results[name]
    assert answer["absent"] == {
        "en207_ir": "the power is not given as pulses",
        "aiming_beam_class": "classes are given for continuous beams of 400 to 700 nm",
    }


def test_of_a_train_the_stricter_of_power_and_pulse_decides() -> None:
    """1 W in pulses of 10 mJ for 10 s: 1000 pulses.

    One pulse may carry 5600 (100 us)^0.25 = 560 J/m2, the whole 10,000 J/m2: 10 for each of them.
    """
    answer = respond({**EVERYTHING, "emission": TRAIN})
    results = answer["results"]
    assert results["exposure_limit_fluence"]["value"] == pytest.approx(10)
    assert results["exposure_limit_fluence"]["rule"] == "whole exposure"
    assert results["exposure_limit_fluence"]["formula"].endswith("train.pulse_limits_j_m2")
    area = max(1 / 1000, 0.01 / 10)
    assert results["diffuse_distance"]["value"] == pytest.approx(math.sqrt(area / math.pi))
    # Rare and strong: 1 J each 10 s is 0.1 W; one pulse is what counts: 1 J over 560 J/m2.
    rare = {**TRAIN, "pulse_energy": "1 J", "repetition_rate": "0.1 Hz"}
    results = respond({**EVERYTHING, "emission": rare})["results"]
    assert results["exposure_limit_fluence"]["rule"] == "single pulse"
    far = math.sqrt(1 / 560 / math.pi)
    assert results["diffuse_distance"]["value"] == pytest.approx(far)
    # A single pulse of 1 J alike.
    single = {**ONE, "emission": {**ONE["emission"], "pulse_energy": "1 J"}}
    answer = respond({**single, "beam": BEAM})
    assert answer["results"]["diffuse_distance"]["value"] == pytest.approx(far)
    assert answer["absent"]["en207_d"] == "a single pulse has no average power"
    assert answer["absent"]["lens_distance"] == "needs lens"
    assert answer["absent"]["tip_distance"] == "needs tip"
    # 1 J over 8 mm: 19,894 J/m2, LB3 at 10^5 J/m2 (n + 2), not at 10^4.
    assert answer["results"]["en207_ir"]["value"] == 3


def test_grades_count_size_and_pulses() -> None:
    """10 mJ over 8 mm: 198.9 J/m2, at 100 Hz for 5 s times 500^0.25 = 4.73: 940.8 J/m2, LB1.

    With the factor for glass, 8^1.7 = 34.3: 32,264 J/m2, LB3; for 10 s 38,369 J/m2.
    """

    def grades(beam: dict = BEAM, energy: str = "10 mJ", **eyewear: object) -> tuple:
        emission = {**TRAIN, "pulse_energy": energy}
        results = respond({**CO2, "emission": emission, "beam": beam, "eyewear": eyewear})[
            "results"
        ]
        return results["en207_d"]["value"], results["en207_ir"]["value"]

    # 1 W over 8 mm: 19,894 W/m2: LB2. With the factor 682,300: LB3.
    assert grades() == (2, 1)
    assert grades(accumulation_window="5 s") == (2, 1)
    # 11 mJ: 1034.9 J/m2 with what adds up in 5 s, 218.8 without.
    assert grades(energy="11 mJ", accumulation_window="5 s") == (2, 2)
    assert grades(energy="11 mJ") == (2, 1)
    assert grades(energy="9.5 mJ", accumulation_window="10 s") == (2, 2)
    assert grades(beam_size_factor=True) == (3, 2)
    assert grades(beam_size_factor=True, accumulation_window="5 s") == (3, 3)
    # Without a beam the aperture is taken: 3.5 mm: 103,939 W/m2, 1039 J/m2.
    assert grades({}) == (3, 2)


@pytest.mark.parametrize(("duration", "reason"), [
    ("0.99 ns", "grades are given for pulses of 1 ns to 0.25 s"),
    ("1 ns", None), ("0.25 s", None),
    ("0.2501 s", "grades are given for pulses of 1 ns to 0.25 s"),
])  # fmt: skip
def test_pulses_are_graded_within_their_range(duration: str, reason: str | None) -> None:
    answer = respond({
        "wavelength": "650 nm", "beam": BEAM,
        "emission": {"pulse_energy": "1 mJ", "pulse_duration": duration},
    })  # fmt: skip
    assert answer["absent"].get("en207_ir") == reason
    assert ("en207_ir" in answer["results"]) is (reason is None)


NO_BLUE = "below 600 nm and beyond 10 s the blue-light limit applies, which is not offered"
NO_LIMIT = "no limit is offered for this wavelength and time"


@pytest.mark.parametrize(("change", "reason"), [
    ({"wavelength": "599 nm", "exposure_time": "10.1 s"}, NO_BLUE),
    ({"wavelength": "599 nm", "exposure_time": "10 s"}, None),
    ({"wavelength": "600 nm", "exposure_time": "10.1 s"}, None),
    ({"wavelength": "599 nm", "exposure_time": "10.1 s", "target": "skin"}, None),
    ({"exposure_time": "0.9 ns"}, NO_LIMIT),
    ({"wavelength": "599 nm", "exposure_time": "0.9 ns", "target": "skin"}, NO_LIMIT),
    ({"emission": {**TRAIN, "pulse_duration": "0.9 ns"}}, NO_LIMIT),
])  # fmt: skip
def test_without_a_limit_nothing_rests_on_one(change: dict, reason: str | None) -> None:
    absent = respond({**EVERYTHING, **change})["absent"]
    for name in ("exposure_limit_irradiance", "exposure_limit_fluence", "direct_distance",
                 "lens_distance", "tip_distance", "diffuse_distance",
                 "optical_density"):  # fmt: skip
        assert absent.get(name) == reason, name


def test_without_an_aperture_nothing_rests_on_one() -> None:
    answer = respond({**CO2, "wavelength": "101 um"})
    reason = "beyond 100 um no aperture for the eye is offered"
    for name in ("limiting_aperture", "optical_density", "en207_d"):
        assert answer["absent"][name] == reason
    assert answer["absent"]["direct_distance"] == "needs beam.full_divergence"
    assert answer["absent"]["skin_distance"] == "needs beam.full_divergence"
    # With a beam its own size is graded.
    sized = respond({**CO2, "wavelength": "101 um", "beam": BEAM})
    assert sized["absent"]["optical_density"] == reason
    assert sized["results"]["en207_d"]["value"] == 3
    strong = respond({**CO2, "emission": {"power": "1 GW"}, "beam": BEAM})
    assert strong["absent"]["en207_d"] == "above the highest grade, LB10"


@pytest.mark.parametrize(("change", "limit"), [
    ({}, 200), ({"exposure_time": "10 s"}, 1000), ({"exposure_time": "10.1 s"}, 200),
    ({"wavelength": "1400 nm"}, 200), ({"wavelength": "1399 nm"}, 10_000),
    ({"target": "eye"}, 1000), ({"skin": ...}, 1000),
])  # fmt: skip
def test_a_large_area_of_skin_counts_where_it_may(change: dict, limit: float) -> None:
    # 500 cm2: 10 W / 0.05 m2.
    request = {
        **CO2, "exposure_time": "60 s", "target": "skin", "skin": {"exposed_area": "500 cm2"},
        **change,
    }  # fmt: skip
    answer = respond({name: value for name, value in request.items() if value is not ...})[
        "results"
    ]
    assert answer["exposure_limit_irradiance"]["value"] == pytest.approx(limit)
    seconds = float(str(request["exposure_time"]).split()[0])
    assert answer["exposure_limit_fluence"]["value"] == pytest.approx(limit * seconds)
    formula = answer["exposure_limit_irradiance"]["formula"]
    assert formula.endswith("large_area_irradiance_w_m2" if limit == 200 else "irradiance_w_m2")


def test_the_skin_distance_is_that_of_skin() -> None:
    # 650 nm, 0.25 s: 18 x 0.25^0.75 for the eye, 11,000 x 0.25^0.25 J/m2 for skin.
    red = {"wavelength": "650 nm", "exposure_time": "0.25 s", "emission": {"power": "10 W"},
           "beam": {**BEAM, "diameter": "0 mm"}}  # fmt: skip
    results = respond(red)["results"]
    for name, limit in (
        ("direct_distance", 18 * 0.25**0.75),
        ("skin_distance", 11_000 * 0.25**0.25),
    ):
        far = math.sqrt(4 * 10 * 0.25 / limit / math.pi) / 0.004
        assert results[name]["value"] == pytest.approx(far)


@pytest.mark.parametrize(("nanometres", "given"), [(700, True), (701, False)])
def test_classes_are_given_for_visible_beams(nanometres: int, given: bool) -> None:
    aim = {"wavelength": f"{nanometres} nm", "exposure_time": "0.25 s",
           "emission": {"power": "0.9 mW"}}  # fmt: skip
    answer = respond(aim)
    assert ("aiming_beam_class" in answer["results"]) is given
    if given:
        assert answer["results"]["aiming_beam_class"]["value"] == "2"
        assert answer["results"]["aiming_beam_class"]["formula"].endswith("eyewear.visible_class")


ALWAYS = ["not_for_tissue", "everybody_wears_eyewear", "greatest_output", "transcribed",
          "diffuse_never_decides", "density_not_burn_through"]  # fmt: skip
RED = {"wavelength": "650 nm", "exposure_time": "0.25 s", "emission": {"power": "1 mW"}}


@pytest.mark.parametrize(("request_", "codes"), [
    (CO2, [*ALWAYS, "aiming_beam_passes", "without_beam_size_factor"]),
    ({**CO2, "edition": "2006/25/EC"}, [*ALWAYS, "aiming_beam_passes", "without_beam_size_factor"]),
    ({**CO2, "eyewear": {"beam_size_factor": True}}, [*ALWAYS, "aiming_beam_passes"]),
    (RED, [*ALWAYS, "without_beam_size_factor", "label_decides"]),
    ({**RED, "wavelength": "1400 nm"}, [*ALWAYS, "without_beam_size_factor"]),
    ({**CO2, "emission": TRAIN},
     [*ALWAYS, "aiming_beam_passes", "without_beam_size_factor", "without_accumulation"]),
    ({**CO2, "emission": TRAIN, "eyewear": {"accumulation_window": "5 s"}},
     [*ALWAYS, "aiming_beam_passes", "without_beam_size_factor"]),
    (ONE, [*ALWAYS, "aiming_beam_passes", "without_beam_size_factor"]),
    # No limit: neither distance nor density, but a grade.
    ({**CO2, "exposure_time": "0.9 ns"}, [*ALWAYS[:4], "without_beam_size_factor"]),
    # Without an aperture no grade either.
    ({**CO2, "wavelength": "200 um"}, ALWAYS[:5]),
])  # fmt: skip
def test_cautions_stand_where_they_belong(request_: dict, codes: list[str]) -> None:
    warnings = respond(request_)["warnings"]
    assert [one["code"] for one in warnings] == codes
    of_edition = {"transcribed": ["directive2006" if "edition" in request_ else "icnirp2013"]}
    sources = {
        "not_for_tissue": ["icnirp2013"], "density_not_burn_through": ["en207"],
        "without_beam_size_factor": ["en207"], "without_accumulation": ["en207"],
        "label_decides": ["iec60825"], **of_edition,
    }  # fmt: skip
    for one in warnings:
        assert one["sources"] == sources.get(one["code"], ["practice"])
        assert one["text"]
    assert len({one["text"] for one in warnings}) == len(warnings)


def test_an_answer_as_lines() -> None:
    """As the command line prints it: a label in 38 columns, three digits, the unit."""
    answer = respond(RED)
    lines = as_lines(answer)
    assert len(lines) == len(answer["results"]) + len(answer["warnings"])
    # 18 x 0.25^0.75 / 0.25 = 25.5 W/m2 (25.46).
    assert lines[0] == "exposure limit, irradiance".ljust(38) + "25.5 W/m²"
    assert lines[2] == "limiting aperture".ljust(38) + "7 mm"
    assert "class of a visible beam".ljust(38) + "2 " in [f"{line.rstrip()} " for line in lines]
    density = math.log10(1e-3 / (math.pi / 4 * 0.007**2) / 25.4558)
    assert f"{'optical density':<38}{density:.3g}" in lines
    assert lines[-1] == f"note: {answer['warnings'][-1]['text']}"
