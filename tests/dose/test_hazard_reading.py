"""How a hazard request is read, and the words with which it is refused."""

import math

import pytest

from api.dose.hazard.evaluate import respond
from api.dose.hazard.request import parse
from api.errors import BadInput
from tests.dose.hazards import BEAM, CO2, LENS, ONE, TIP, TRAIN


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
    # A size alone says nothing of the divergence.
    sized = parse({**CO2, "beam": {"diameter": "8 mm", "diameter_definition": "1/e2"}})
    assert sized.beam_divergence_rad is None
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
