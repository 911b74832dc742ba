"""Intervals against a Monte Carlo of the same inputs, and by hand."""

from math import sqrt

import numpy as np
import pytest

from api.dose.arrival import delivered_fraction
from api.dose.emitted import solve_emission
from api.dose.evaluate import respond
from api.dose.request import parse, settle, value_at, with_value
from api.dose.results import delivered_values, results_from
from api.dose.steps import Band

SEED, SAMPLES = 20_261_125, 3_000
# Far from the fluence at which the two ends of the depth of a pulse cross (20 J/cm2): there the
# ends swap from sample to sample, which no first order sees.
BASE = {
    "wavelength": "10.6 um",
    "emission": {"mode": "pulsed", "pulse_energy": "100 mJ", "repetition_rate": "140 Hz",
                 "pulse_duration": "400 us"},
    "motion": {"speed": "5 mm/s"},
    "emission_time": "30 s",
    "tissue": {"kind": "oral mucosa"},
    "uncertainty": {"tissue.water_fraction": 0.03, "tissue.density": 0.01,
                    "tissue.specific_heat": 0.02, "tissue.conductivity": 0.02,
                    "tissue.ablation_threshold": 0.02, "tissue.ablation_heat": 0.02},
}  # fmt: skip
SPOTS = {
    "stated": ({"diameter": "0.4 mm", "diameter_definition": "fwhm"}, {"spot.diameter": "8 um"}),
    "lens": (
        {"focal_length": "75 mm", "beam_diameter_at_lens": "6 mm", "beam_quality_m2": 1.3,
         "defocus": "4 mm"},
        {"spot.focal_length": "0.5 mm", "spot.beam_diameter_at_lens": 0.02,
         "spot.beam_quality_m2": 0.03, "spot.defocus": "0.1 mm"},
    ),
    "waist": (
        {"waist_diameter": "0.2 mm", "beam_quality_m2": 1.2, "defocus": "4 mm"},
        {"spot.waist_diameter": 0.02, "spot.beam_quality_m2": 0.02, "spot.defocus": 0.02},
    ),
    "bore": (
        {"bore_diameter": "0.5 mm", "distance": "2 mm", "full_divergence": "150 mrad"},
        {"spot.bore_diameter": 0.01, "spot.distance": 0.05, "spot.full_divergence": "3 mrad"},
    ),
}  # fmt: skip
DELIVERIES = {
    "verified": ({"verified_ratio": 0.88, "verified_ratio_uncertainty": 0.02}, {}),
    "design": (
        {"mirror_count": 7, "mirror_reflectance": 0.98, "lens_transmittance": "94 %",
         "loss": "0.5 dB"},
        {"delivery.mirror_reflectance": 0.002, "delivery.lens_transmittance": 0.01,
         "delivery.loss": "0.05 dB"},
    ),
}  # fmt: skip


def _request(spot: str, delivery: str) -> dict:
    (stated_spot, of_spot), (stated_delivery, of_delivery) = SPOTS[spot], DELIVERIES[delivery]
    uncertainty = {**BASE["uncertainty"], **of_spot, **of_delivery}
    return {**BASE, "spot": stated_spot, "delivery": stated_delivery, "uncertainty": uncertainty}


def _ends(result) -> tuple[float, float]:
    return (result.low_si, result.high_si) if isinstance(result, Band) else (result.value_si,) * 2


def _spreads(request: dict, *, delivered: bool) -> dict[str, tuple[float, float]]:
    """Return the relative standard deviations of both ends of each result over random inputs."""
    given = parse(request)
    draw = np.random.default_rng(SEED)
    found: dict[str, list[tuple[float, float]]] = {}
    for _ in range(SAMPLES):
        data = given.stated
        for path, uncertainty in given.uncertainty.items():
            moved = value_at(given.stated, path) + uncertainty * draw.standard_normal()
            data = with_value(data, path, moved)
        sample = settle(data, given.uncertainty)
        known, _ = solve_emission(sample)
        if delivered:
            known = delivered_values(known, fraction=delivered_fraction(sample.delivery).value_si)
        for name, result in results_from(sample, known).items():
            found.setdefault(name, []).append(_ends(result))
    return {
        name: tuple(np.std(ends, axis=0) / np.mean(ends, axis=0)) for name, ends in found.items()
    }


@pytest.mark.parametrize(
    ("spot", "delivery", "side"),
    [("stated", "verified", "delivered"), ("lens", "design", "delivered"),
     ("waist", "verified", "set"), ("bore", "verified", "set")],
)  # fmt: skip
def test_intervals_are_what_random_inputs_spread_to(spot: str, delivery: str, side: str) -> None:
    request = _request(spot, delivery)
    answer = respond(request)
    spreads = _spreads(request, delivered=side == "delivered")
    intervals = answer["intervals"][side]
    compared = 0
    for name, spread in spreads.items():
        result = answer["dose"][side][name]
        interval = intervals.get(name)
        if interval is None:
            # The ends of the literature range, and what rests on the panel's times alone.
            assert max(spread) < 1e-12, name
            continue
        middles = [result.get(end, result.get("value")) for end in ("low", "high")]
        halves = (middles[0] - interval["low"], interval["high"] - middles[1])
        for half, middle, wanted in zip(halves, middles, spread, strict=True):
            assert half / 2 / abs(middle) == pytest.approx(abs(wanted), rel=0.08), name
        compared += 1
    assert compared >= 15


def test_independent_inputs_add_by_squares() -> None:
    # 4 P / (pi d^2): ratio 2 %, diameter 3 % twice, set power 1 %: sqrt(4 + 36 + 1) % = 6.4031 %.
    request = {
        "wavelength": "10.6 um",
        "emission": {"mode": "continuous", "power": "4 W"},
        "spot": {"diameter": "1 mm", "diameter_definition": "1/e2"},
        "delivery": {"verified_ratio": 0.9},
        "uncertainty": {"delivery.verified_ratio": 0.02, "spot.diameter": "0.03 mm",
                        "emission.power": "40 mW"},
    }  # fmt: skip
    answer = respond(request)
    value = answer["dose"]["delivered"]["irradiance_mean"]["value"]
    interval = answer["intervals"]["delivered"]["irradiance_mean"]
    assert (interval["high"] - value) / value == pytest.approx(2 * sqrt(41) / 100, rel=1e-8)
    assert answer["intervals"]["coverage_factor"] == 2
    # The set power is as the panel says, unless its uncertainty is stated, as here: 1 %.
    assert answer["intervals"]["set"]["average_power"]["low"] == pytest.approx(3.92)


def test_a_value_at_the_end_of_its_range_has_an_interval_too() -> None:
    request = {
        "wavelength": "10.6 um",
        "emission": {"mode": "continuous", "power": "4 W"},
        "spot": {"waist_diameter": "0.2 mm", "beam_quality_m2": 1, "defocus": "0 mm"},
        "delivery": {"lens_transmittance": 1, "loss": "0 dB"},
        "uncertainty": {"spot.waist_diameter": 0.01, "spot.beam_quality_m2": 0.05,
                        "spot.defocus": "0.5 mm", "delivery.lens_transmittance": 0.01,
                        "delivery.loss": "0.1 dB"},
    }  # fmt: skip
    answer = respond(request)
    # zR = pi w0^2 / (M2 lambda): sqrt((2 x 1 %)^2 + 5 %^2) = 5.3852 %.
    rayleigh = answer["intervals"]["set"]["rayleigh_range"]
    value = answer["dose"]["set"]["rayleigh_range"]["value"]
    assert (rayleigh["high"] - value) / value == pytest.approx(2 * sqrt(29) / 100, rel=1e-4)
    # 0.1 dB is ln(10)/10 x 0.1 = 2.3026 %, with 1 % of the lens 2.5104 %.
    power = answer["intervals"]["delivered"]["average_power"]
    assert (power["high"] - 4) / 4 == pytest.approx(2 * 0.025104, rel=1e-4)


def test_without_any_uncertainty_nothing_is_pretended() -> None:
    request = {name: part for name, part in _request("lens", "design").items()
               if name != "uncertainty"}  # fmt: skip
    intervals = respond(request)["intervals"]
    assert set(intervals["set"].values()) == {"not stated"}
    assert set(intervals["delivered"].values()) == {"not stated"}
    # What rests on the panel alone needs none; what rests on the spot or the tissue does.
    assert "average_power" not in intervals["set"]
    assert {"spot_diameter", "fluence_mean", "pulse_depth"} <= intervals["set"].keys()
    assert "average_power" in intervals["delivered"]
    assert "pulse_duration" not in intervals["delivered"]


def test_what_an_unstated_input_does_not_reach_misses_nothing() -> None:
    """P / v and P t know nothing of the spot, d / v and 1 - v / (f d) nothing of the power."""
    request = {
        "wavelength": "10.6 um", "spot": {"diameter": "0.4 mm", "diameter_definition": "1/e2"},
        "emission": {"mode": "pulsed", "pulse_energy": "50 mJ", "repetition_rate": "100 Hz",
                     "pulse_duration": "400 us"},
        "motion": {"speed": "5 mm/s"}, "emission_time": "30 s",
        "delivery": {"verified_ratio": 0.9},
    }  # fmt: skip
    found = respond(request)["intervals"]
    assert {"dwell_time", "overlap", "track_fluence_mean"} <= found["set"].keys()
    assert found["set"].keys().isdisjoint({"line_energy", "total_energy"})
    known = {**request, "uncertainty": {"spot.diameter": 0.05}}
    delivered = respond(known)["intervals"]["delivered"]
    for name in ("line_energy", "total_energy", "track_fluence_mean", "fluence_mean"):
        assert delivered[name] == "not stated"
    for name in ("dwell_time", "overlap", "pulses_per_spot"):
        assert delivered[name] != "not stated"


CONTINUOUS = {"wavelength": "10.6 um", "emission": {"mode": "continuous", "power": "4 W"}}
WAIST = {"waist_diameter": "0.2 mm", "beam_quality_m2": 1.2, "defocus": "0 mm"}


def test_at_the_waist_a_little_defocus_changes_nothing_at_first_order() -> None:
    """d(z) = d0 sqrt(1 + (z/zR)^2) is level at z = 0: what it may be off by need not be stated.

    Nor need M2, as far as the spot goes; how far the waist reaches rests on it.
    """
    request = {**CONTINUOUS, "spot": WAIST, "uncertainty": {"spot.waist_diameter": 0.01}}
    found = respond(request)["intervals"]["set"]
    assert found["spot_diameter"] == {
        "low": pytest.approx(0.196), "high": pytest.approx(0.204), "unit": "mm",
    }  # fmt: skip
    assert found["irradiance_mean"] != "not stated"
    assert found["rayleigh_range"] == "not stated"


def test_an_input_at_the_end_of_its_range_is_missed_as_any_other() -> None:
    # M2 is never below 1, no transmittance above 1.
    spot = {**WAIST, "beam_quality_m2": 1, "defocus": "4 mm"}
    stated = {"spot.waist_diameter": 0.01, "spot.defocus": 0.01}
    found = respond({**CONTINUOUS, "spot": spot, "uncertainty": stated})["intervals"]["set"]
    assert found["spot_diameter"] == "not stated"
    lens = {**CONTINUOUS, "delivery": {"lens_transmittance": 1}}
    assert respond(lens)["intervals"]["delivered"]["average_power"] == "not stated"


def test_no_mirror_is_not_missed() -> None:
    """R^0 = 1, whatever R is: 4 W x 0.9, 1 % of it stated."""
    chain = {"mirror_count": 0, "mirror_reflectance": 0.98, "lens_transmittance": 0.9}
    stated = {"delivery.lens_transmittance": 0.01}
    answer = respond({**CONTINUOUS, "delivery": chain, "uncertainty": stated})
    assert answer["intervals"]["delivered"]["average_power"] == {
        "low": pytest.approx(3.528), "high": pytest.approx(3.672), "unit": "W",
    }  # fmt: skip


def test_one_end_of_a_band_may_be_sure_and_the_other_not() -> None:
    """Above 20 J/cm2 the steady state is the deeper end; it alone rests on the heat of ablation."""
    pulsed = {key: value for key, value in BASE.items() if key != "uncertainty"}
    needed = ("water_fraction", "density", "specific_heat", "conductivity", "ablation_threshold")
    sure = {f"tissue.{name}": 0 for name in needed} | {"spot.diameter": 0}
    answer = respond({
        **pulsed, "spot": {"diameter": "0.4 mm", "diameter_definition": "1/e2"},
        "uncertainty": {**sure, "tissue.ablation_heat": 0.05},
    })  # fmt: skip
    depth, interval = (
        answer["dose"]["set"]["pulse_depth"],
        answer["intervals"]["set"]["pulse_depth"],
    )
    assert interval["low"] == pytest.approx(depth["low"], rel=1e-12)
    assert interval["high"] == pytest.approx(1.1 * depth["high"], rel=1e-6)


def test_a_speed_may_be_uncertain() -> None:
    """4 W at 5 mm/s are 0.8 J/mm, to 10 %: twice 0.08 J/mm to either side."""
    request = {**CONTINUOUS, "motion": {"speed": "5 mm/s"}, "uncertainty": {"motion.speed": 0.1}}
    assert respond(request)["intervals"]["set"]["line_energy"] == {
        "low": pytest.approx(0.64, rel=1e-6), "high": pytest.approx(0.96, rel=1e-6), "unit": "J/mm",
    }  # fmt: skip


def test_a_wavelength_at_the_end_of_what_is_held_may_be_uncertain() -> None:
    # Water's values end at 11 um; a little beyond there is nothing to compare with.
    request = {**CONTINUOUS, "wavelength": "11 um", "tissue": {"kind": "oral mucosa"},
               "uncertainty": {"wavelength": 0.001}}  # fmt: skip
    assert "absorption_depth" in respond(request)["dose"]["set"]
