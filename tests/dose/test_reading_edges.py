"""How a request and its quantities are read, at the ends of what can be.

Expected values are worked out beside each check from the words of the docstrings and the contract;
the limits themselves are those of `constants.json` with their sources.
"""

import math

import pytest

from api.dose.quantity import NotAQuantity, to_si, to_si_between, uncertainty_within
from api.dose.request import flat, parse, value_at, with_value
from tests.dose.settings import CONTINUOUS, PULSED, PULSES

WATTS = "must be a power with its unit, such as 4.5 W"


def test_a_request_is_read_with_what_is_usual() -> None:
    given = parse(CONTINUOUS)
    assert (given.wavelength_m, given.mode, given.emission) == (1.06e-5, "continuous", {"power": 4})
    assert (given.power_kind, given.pulse_shape) == ("not stated", "rectangular")
    assert (given.delivery, given.tissue, given.uncertainty) == ({}, {}, {})
    assert given.own_ablation_heat is False
    for name in ("verified_at", "spot", "spot_diameter_m", "speed_m_s", "emission_time_s",
                 "tissue_kind"):  # fmt: skip
        assert getattr(given, name) is None, name
    full = parse({
        **PULSED, "motion": {"speed": "5 mm/s"}, "emission_time": "30 s",
        "emission": {**PULSES, "power_kind": "average", "pulse_shape": "gaussian"},
        "tissue": {"kind": "oral mucosa", "density": "1000 kg/m3", "ablation_heat": "4 kJ/g"},
        "delivery": {"verified_ratio": 0.9, "verified_ratio_uncertainty": 0.02,
                     "verified_at": "2026-11-25", "lens_transmittance": 0.8},
        "uncertainty": {"spot.diameter": "40 um", "motion.speed": 0.1},
    })  # fmt: skip
    assert (full.power_kind, full.pulse_shape) == ("average", "gaussian")
    assert (full.speed_m_s, full.emission_time_s) == (0.005, 30)
    assert full.spot_diameter_m == pytest.approx(4e-4)
    assert full.verified_at == "2026-11-25"
    assert full.delivery == {"verified_ratio": 0.9, "verified_ratio_uncertainty": 0.02,
                             "lens_transmittance": 0.8}  # fmt: skip
    assert full.tissue_kind == "oral mucosa"
    assert full.own_ablation_heat is True
    # The practice's own properties before those of the kind.
    assert (full.tissue["density"], full.tissue["ablation_heat"]) == (1000, 4e6)
    assert (full.tissue["conductivity"], full.tissue["water_fraction"]) == (0.5, 0.7)
    # 2 % of 0.9, 40 um, a tenth of 5 mm/s.
    assert full.uncertainty == {
        "delivery.verified_ratio": pytest.approx(0.018), "spot.diameter": pytest.approx(4e-5),
        "motion.speed": pytest.approx(5e-4),
    }  # fmt: skip


def test_values_are_found_and_changed_by_their_path() -> None:
    data = {"wavelength": 1.0, "spot": {"diameter": 2.0, "defocus": 3.0}}
    assert value_at(data, "wavelength") == 1
    assert value_at(data, "spot.defocus") == 3
    assert value_at(data, "motion.speed") is None
    assert value_at(data, "emission_time") is None
    assert with_value(data, "wavelength", 5.0) == {**data, "wavelength": 5.0}
    assert with_value(data, "spot.defocus", 5.0) == {**data, "spot": {"diameter": 2, "defocus": 5}}
    assert data["spot"]["defocus"] == 3


@pytest.mark.parametrize(("given", "dimension", "text"), [
    ("x" * 41, "W", "must be at most 40 characters"),
    ({"value": 1, "unit": "W" * 41}, "W", "must be at most 40 characters"),
    ({"value": math.inf, "unit": "W"}, "W", "must be a finite number"),
    ("1e999 W", "W", "must be a finite number"),
    ("1e400 mW", "W", "must be a finite number"),
    ("1e99999999999 W", "W", "must be a finite number"),
    ({"value": 1, "unit": "W" * 40}, "W", WATTS), ([4], "W", WATTS),
    ("4 J", "W", WATTS), ("4", "W", WATTS), (4, "W", WATTS),
    ({"value": True, "unit": "W"}, "W", WATTS),
    ({"value": 4}, "W", WATTS), ({"value": 4, "unit": 3}, "W", WATTS), ("4 dBm", "W", WATTS),
    ("4 W W", "W", WATTS), ("4 W²", "W", WATTS), ("four W", "W", WATTS), ("1,5 W", "W", WATTS),
    ("", "W", WATTS), ("W", "W", WATTS),
])  # fmt: skip
def test_what_is_no_quantity_is_refused_in_words(given, dimension: str, text: str) -> None:
    with pytest.raises(NotAQuantity) as caught:
        to_si(given, dimension)
    if text == WATTS:
        assert str(caught.value).startswith("must be a power")
    else:
        assert str(caught.value) == text


@pytest.mark.parametrize(("given", "dimension", "value"), [
    ("4 W", "W", 4), ("4W", "W", 4), ("4  W", "W", 4), ("+4 W", "W", 4), ("4.50e-1 kW", "W", 450),
    ({"value": 4, "unit": "mW"}, "W", 0.004), (0.5, "1", 0.5), ("50 %", "1", 0.5),
    ("0.5", "1", 0.5),
    ({"value": 3, "unit": ""}, "1", 3), ("3 dB", "dB", 3), ("90 deg", "rad", math.pi / 2),
    ("2 cm2", "m^2", 2e-4), ("2 cm^2", "m^2", 2e-4), ("1 J/(cm2)", "J/m^2", None),
    ("1 J/cm2", "J/m^2", 1e4), ("4" + " " * 38 + "W", "W", 4),
])  # fmt: skip
def test_quantities_are_read_exactly(given, dimension: str, value: float | None) -> None:
    if value is None:
        with pytest.raises(NotAQuantity):
            to_si(given, dimension)
        return
    assert to_si(given, dimension) == pytest.approx(value, rel=1e-15)


def test_messages_are_told_by_their_path() -> None:
    nested = {"spot": {"diameter": "is too large"}, "delivery": {"loss": ["one", "another"]}}
    assert flat(nested) == {
        "spot.diameter": ["is too large"], "delivery.loss": ["one", "another"],
    }  # fmt: skip


def test_the_end_of_a_range_is_inside_it_by_a_billionth() -> None:
    """1e3 nm and 1 um are the same length, also where their floats differ."""
    limits = {"dimension": "1", "least": 0.5, "most": 1, "text": "0.5 to 1"}
    for inside in ("0.4999999995", "0.5", "1", "1.000000001"):
        assert to_si_between(inside, limits) == float(inside)
    for outside in ("0.499999999", "1.000000002"):
        with pytest.raises(NotAQuantity) as caught:
            to_si_between(outside, limits)
        assert str(caught.value) == "must be from 0.5 to 1"


def test_an_uncertainty_is_relative_or_absolute() -> None:
    assert uncertainty_within("2 %", "emission.power") == (True, 0.02)
    assert uncertainty_within(1, "emission.power") == (True, 1)
    assert uncertainty_within("5 mW", "emission.power") == (False, 0.005)
    # 1 GW is the most a power may be.
    assert uncertainty_within("1 GW", "emission.power") == (False, 1e9)
    too_large = "must be from 0 to the largest value of the field, or to 1 if relative"
    for wrong in (1.001, -0.001, "-1 W", "1.001 GW"):
        with pytest.raises(NotAQuantity) as caught:
            uncertainty_within(wrong, "emission.power")
        assert str(caught.value) == too_large
    with pytest.raises(NotAQuantity) as caught:
        uncertainty_within("5 mJ", "emission.power")
    assert str(caught.value).endswith(", or a pure number: relative")
