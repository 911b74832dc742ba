"""The words with which a request is refused, and what is just allowed.

Expected values are worked out beside each check from the words of the docstrings and the contract;
the limits themselves are those of `constants.json` with their sources.
"""

import pytest

from api.dose.evaluate import respond
from api.dose.request import flat
from tests.dose.settings import CONTINUOUS, PULSES, refused


@pytest.mark.parametrize(("change", "errors"), [
    ({"wavelength": ...}, {"wavelength": ["is required"]}),
    ({"colour": "red"}, {"colour": ["is not a field of this request"]}),
    ({"emission": None}, {"emission": ["must not be null"]}),
    ({"emission": "4 W"}, {"emission": ["must be an object"]}),
    ({"emission": {"mode": "continuous", "power": None}}, {"emission.power": ["must not be null"]}),
    ({"emission": {"power": "4 W"}}, {"emission.mode": ["is required"]}),
    ({"emission": {"mode": "on", "power": "4 W"}},
     {"emission.mode": ["must be one of: continuous, gated, pulsed"]}),
    ({"emission": {"mode": None, "power": "4 W"}}, {"emission.mode": ["must not be null"]}),
    ({"emission": {"mode": 3, "power": "4 W"}},
     {"emission.mode": ["must be one of: continuous, gated, pulsed"]}),
    ({"emission": {"mode": "continuous"}},
     {"emission": ["needs a power, an energy, a duration or a rate"]}),
    ({"emission": {"mode": "continuous", "power": "4 W", "gate_on": "1 s", "duty_cycle": 0.5}},
     {"emission.gate_on": ["belongs to a gated emission only"],
      "emission.duty_cycle": ["does not belong to a continuous emission"]}),
    ({"emission": {**PULSES, "gate_off": "1 s"}},
     {"emission.gate_off": ["belongs to a gated emission only"]}),
    ({"spot": {"diameter": "1 mm"}}, {"spot.diameter_definition": ["is required"]}),
    ({"spot": {"bore_diameter": "1 mm", "distance": "1 mm", "defocus": "1 mm"}},
     {"spot.defocus": ["does not belong to a spot stated by its bore"]}),
    ({"spot": {"waist_diameter": "1 mm", "beam_quality_m2": 1, "defocus": "0 mm",
               "full_divergence": "0.1 rad"}},
     {"spot.full_divergence": ["does not belong to a spot stated by its waist"]}),
    ({"delivery": {"verified_at": "2026-11-25"}},
     {"delivery.verified_at": ["has no meaning without a verified ratio"]}),
    ({"delivery": {"verified_ratio_uncertainty": 0.02}},
     {"delivery.verified_ratio_uncertainty": ["has no meaning without a verified ratio"]}),
    ({"delivery": {"mirror_count": 7}}, {"delivery.mirror_reflectance": ["is required"]}),
    ({"delivery": {"mirror_reflectance": 0.9}}, {"delivery.mirror_count": ["is required"]}),
    ({"delivery": {"mirror_count": 1.5, "mirror_reflectance": 0.9}},
     {"delivery.mirror_count": ["must be a whole number"]}),
    ({"delivery": {"verified_ratio": 0.9, "verified_at": None}},
     {"delivery.verified_at": ["must not be null"]}),
    # All that is wrong is said at once.
    ({"emission": {"mode": "continuous"}, "spot": {"diameter": "1 mm"}},
     {"emission": ["needs a power, an energy, a duration or a rate"],
      "spot.diameter_definition": ["is required"]}),
    ({"uncertainty": {"emission.colour": 0.1, "delivery.mirror_count": 0.1, "spot.colour": 0.1}},
     {"uncertainty.emission.colour": ["is not a field of this request"],
      "uncertainty.delivery.mirror_count": ["is a count and has no uncertainty"],
      "uncertainty.spot.colour": ["is not a field of this request"]}),
    ({"tissue": {}}, {"tissue": ["needs a kind or a property"]}),
    ({"tissue": {"kind": "bone"}}, {"tissue.kind": ["must be one of: oral mucosa"]}),
    ({"motion": {}}, {"motion.speed": ["is required"]}),
    ({"uncertainty": None}, {"uncertainty": ["must not be null"]}),
    ({"uncertainty": []}, {"uncertainty": ["must be an object"]}),
    ({"uncertainty": {"emission.colour": 0.1}},
     {"uncertainty.emission.colour": ["is not a field of this request"]}),
    ({"uncertainty": {"delivery.verified_ratio_uncertainty": 0.1}},
     {"uncertainty.delivery.verified_ratio_uncertainty": ["is not a field of this request"]}),
    ({"uncertainty": {"delivery.mirror_count": 0.1}},
     {"uncertainty.delivery.mirror_count": ["is a count and has no uncertainty"]}),
    ({"uncertainty": {"spot.diameter": 0.1}},
     {"uncertainty.spot.diameter": ["is not stated in this request"]}),
    ({"uncertainty": {"emission.power": "4.1 W"}},
     {"uncertainty.emission.power": ["must not be larger than the value itself"]}),
    ({"uncertainty": {"emission.power": 1.1}}, {"uncertainty.emission.power": [
        "must be from 0 to the largest value of the field, or to 1 if relative"]}),
    ({"delivery": {"verified_ratio": 0.9, "verified_ratio_uncertainty": 0.02},
      "uncertainty": {"delivery.verified_ratio": 0.02}},
     {"uncertainty.delivery.verified_ratio": [
         "is stated twice: see delivery.verified_ratio_uncertainty"]}),
])  # fmt: skip
def test_a_refusal_says_what_is_wrong_where(change: dict, errors: dict) -> None:
    request = {name: value for name, value in {**CONTINUOUS, **change}.items() if value is not ...}
    assert refused(request) == errors


def test_what_is_no_request_is_refused_as_a_whole() -> None:
    assert refused([]) == {"": ["must be an object"]}


@pytest.mark.parametrize("when", ["25.11.2026", "2026-13-01", "2026-11-25T10:15", "2026-11-25x", 3])
def test_a_date_is_refused_with_an_example(when: object) -> None:
    delivery = {"verified_ratio": 0.9, "verified_at": when}
    assert refused({**CONTINUOUS, "delivery": delivery}) == {"delivery.verified_at": [
        "must be a date or a time such as 2026-11-25 or 2026-11-25T10:15:30.123+01:00"
    ]}  # fmt: skip


@pytest.mark.parametrize("change", [
    {"uncertainty": {"emission.power": "4 W"}},
    {"uncertainty": {"emission.power": 1}},
    {"uncertainty": {"emission.power": 0}},
    {"emission": {**PULSES, "pulse_duration": "10 ms"}},
    # A nothing may be off by anything its field allows.
    {"spot": {"waist_diameter": "1 mm", "beam_quality_m2": 1, "defocus": "0 mm"},
     "uncertainty": {"spot.defocus": "1 mm"}},
    {"delivery": {"verified_ratio": 0.9, "verified_at": "2026-11-25T10:15:30Z"}},
])  # fmt: skip
def test_what_is_just_allowed(change: dict) -> None:
    assert respond({**CONTINUOUS, **change})["dose"]["set"]


def test_messages_are_flattened_by_path() -> None:
    assert flat({"a": {"b": ["x"], "c": {"0": ["y", "z"]}}, "d": "w"}) == {
        "a.b": ["x"], "a.c.0": ["y", "z"], "d": ["w"],
    }  # fmt: skip
    assert flat(["x"]) == {"": ["x"]}
    assert flat({1: ["x"]}, "a") == {"a.1": ["x"]}


TOO_LONG = ["a pulse cannot be longer than its period"]
ABOVE_PEAK = ["the average power cannot be above the peak power"]
LONG_PULSE = {"mode": "pulsed", "pulse_energy": "50 mJ", "pulse_duration": "20 ms"}


@pytest.mark.parametrize(("emission", "fields"), [
    ({**LONG_PULSE, "repetition_rate": "100 Hz"}, ["pulse_duration", "repetition_rate"]),
    ({**LONG_PULSE, "pulse_period": "10 ms"}, ["pulse_duration", "pulse_period"]),
    # Also where something else collides as well: 20 ms at 100 Hz are no half of the time.
    ({**LONG_PULSE, "repetition_rate": "100 Hz", "duty_cycle": 0.5},
     ["pulse_duration", "repetition_rate"]),
    ({**LONG_PULSE, "pulse_period": "10 ms", "duty_cycle": 0.5},
     ["pulse_duration", "pulse_period"]),
    # And where only one of two times is too short for the pulse.
    ({**LONG_PULSE, "repetition_rate": "10 Hz", "pulse_period": "10 ms"},
     ["pulse_duration", "pulse_period"]),
])  # fmt: skip
def test_a_pulse_longer_than_its_period_is_refused(emission: dict, fields: list[str]) -> None:
    request = {**CONTINUOUS, "emission": emission}
    assert refused(request) == {f"emission.{name}": TOO_LONG for name in fields}


def test_an_average_is_not_above_the_peak_but_for_a_pulses_tails() -> None:
    """A Gaussian pulse holds 1.0645 x peak x width, and panels round by 1 %: up to 1.0751."""
    gated = {"mode": "gated", "gate_on": "20 ms", "peak_power": "1 W"}
    within = {**gated, "average_power": "1.075 W"}
    assert respond({**CONTINUOUS, "emission": within})["dose"]["set"]["peak_power"]["value"] == 1
    assert refused({**CONTINUOUS, "emission": {**gated, "average_power": "1.0752 W"}}) == {
        "emission.average_power": ABOVE_PEAK, "emission.peak_power": ABOVE_PEAK,
    }  # fmt: skip
