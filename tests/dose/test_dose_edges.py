"""The dose engine at the ends of what it holds for, and the words with which it refuses.

Expected values are worked out beside each check from the words of the docstrings and the contract;
the limits themselves are those of `constants.json` with their sources.
"""

import math

import pytest

from api.dose.arrival import basis_of, delivered_fraction, design_transmission, stated_beside
from api.dose.display import format_number, format_value
from api.dose.evaluate import respond
from api.dose.limits import check_limits
from api.dose.quantity import NotAQuantity, to_si, uncertainty_within
from api.dose.request import flat, parse, value_at, with_value
from api.dose.spot import form_of
from api.dose.steps import Band, Result, Steps
from api.dose.table import as_lines
from api.errors import BadInput

CONTINUOUS = {"wavelength": "10.6 um", "emission": {"mode": "continuous", "power": "4 W"}}
PULSES = {"mode": "pulsed", "pulse_energy": "50 mJ", "repetition_rate": "100 Hz",
          "pulse_duration": "400 us"}  # fmt: skip
SPOT = {"diameter": "0.4 mm", "diameter_definition": "1/e2"}
TISSUE = {"kind": "oral mucosa"}
PULSED = {"wavelength": "10.6 um", "emission": PULSES, "spot": SPOT, "tissue": TISSUE}


def _refused(request: object) -> dict[str, list[str]]:
    with pytest.raises(BadInput) as caught:
        respond(request)
    assert caught.value.code == "bad_request"
    first = sorted(caught.value.errors)[0]
    text = caught.value.errors[first][0]
    assert caught.value.message == (f"{first} {text}" if first else text)
    return caught.value.errors


WATTS = "must be a power with its unit, such as 4.5 W"


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
    assert _refused(request) == errors


def test_what_is_no_request_is_refused_as_a_whole() -> None:
    assert _refused([]) == {"": ["must be an object"]}


@pytest.mark.parametrize("when", ["25.11.2026", "2026-13-01", "2026-11-25T10:15", "2026-11-25x", 3])
def test_a_date_is_refused_with_an_example(when: object) -> None:
    delivery = {"verified_ratio": 0.9, "verified_at": when}
    assert _refused({**CONTINUOUS, "delivery": delivery}) == {"delivery.verified_at": [
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
    ("4 J", "W", WATTS), ("4", "W", WATTS), (4, "W", WATTS),
    ({"value": True, "unit": "W"}, "W", WATTS),
    ({"value": 4}, "W", WATTS), ({"value": 4, "unit": 3}, "W", WATTS), ("4 dBm", "W", WATTS),
    ("4 W W", "W", WATTS), ("4 W²", "W", WATTS),
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


@pytest.mark.parametrize(("value", "digits", "text"), [
    (0, None, "0"), (-0.0, None, "0"), (12345, None, "12300"), (12355, 4, "12360"),
    (0.00012345, None, "0.000123"), (-1.005, None, "-1.01"), (1.2345, 2, "1.2"),
    (99.96, None, "100"),
    (1.0, None, "1"), (10.0, None, "10"), (100.5, None, "101"), (1e22, None, "1" + "0" * 22),
    (0.5, 1, "0.5"), (0.95, 1, "1"), (0.94, 1, "0.9"), (1.10, None, "1.1"),
])  # fmt: skip
def test_numbers_are_written_with_so_many_digits(value, digits, text: str) -> None:
    # Halves away from zero, on the decimal digits: by hand.
    assert format_number(value, digits=digits) == text


def test_names_that_are_no_results_are_not_written() -> None:
    with pytest.raises(KeyError):
        format_value("colour", 1.0)


def test_what_arrives_by_a_chain() -> None:
    # 0.99^2 x 0.9 x 0.8 x 10^-0.1 x 0.5.
    chain = {"mirror_count": 2, "mirror_reflectance": 0.99, "lens_transmittance": 0.9,
             "window_transmittance": 0.8, "loss": 1.0,
             "contamination_transmittance": 0.5}  # fmt: skip
    whole = 0.99**2 * 0.9 * 0.8 * 10**-0.1 * 0.5
    for left_out, part in (("", 1), ("mirror_count", 0.99**2), ("lens_transmittance", 0.9),
                           ("window_transmittance", 0.8), ("loss", 10**-0.1),
                           ("contamination_transmittance", 0.5)):  # fmt: skip
        some = {name: value for name, value in chain.items() if name != left_out}
        found = design_transmission(some)
        assert found.value_si == pytest.approx(whole / part, rel=1e-12)
        assert found.formula == "api.dose.delivery.design_transmission"
    assert design_transmission({}) is None
    assert (basis_of({}), basis_of(chain), basis_of({"verified_ratio": 0.9})) == (
        None, "design", "verified")  # fmt: skip
    assert basis_of({**chain, "verified_ratio": 0.9}) == "verified"
    assert delivered_fraction({}) is None
    assert delivered_fraction({**chain, "verified_ratio": 0.7}) == Result(0.7, "given")
    beside = stated_beside({**chain, "verified_ratio": 0.7, "verified_ratio_uncertainty": 0.02})
    assert beside == {
        "delivered_fraction": Result(0.7, "given"),
        "design_transmission": Result(
            pytest.approx(whole), "api.dose.delivery.design_transmission"
        ),
        "verified_ratio_uncertainty": Result(0.02, "given"),
    }  # fmt: skip
    assert list(stated_beside({"verified_ratio": 0.7})) == ["delivered_fraction"]


@pytest.mark.parametrize(("spot", "form"), [
    ({}, "diameter"), ({"beam_quality_m2": 1, "defocus": 0}, "diameter"),
    ({"diameter_definition": 0, "focal_length": 0}, "diameter"), ({"focal_length": 0}, "lens"),
    ({"beam_diameter_at_lens": 0, "waist_diameter": 0}, "lens"), ({"waist_diameter": 0}, "waist"),
    ({"distance": 0}, "bore"), ({"full_divergence": 0}, "bore"), ({"bore_diameter": 0}, "bore"),
])  # fmt: skip
def test_a_spot_has_the_form_of_its_first_field(spot: dict, form: str) -> None:
    assert form_of(spot) == form


@pytest.mark.parametrize(("divergence", "allowed"), [
    ("1 rad", True), ("1.001 rad", False), ("0.5 rad", True),
])  # fmt: skip
def test_a_beam_widens_no_faster_than_the_formulas_hold_for(divergence: str, allowed: bool) -> None:
    tip = {"bore_diameter": "0.5 mm", "distance": "1 mm", "full_divergence": divergence}
    request = {**CONTINUOUS, "spot": tip}
    if allowed:
        half = float(divergence.split()[0]) / 2
        assert respond(request)["dose"]["set"]["half_divergence"]["value"] == pytest.approx(
            half * 1000
        )
        return
    assert _refused(request) == {"spot.full_divergence": ["must be from 1 µrad to 1 rad"]}


@pytest.mark.parametrize(("spot", "field"), [
    # 2 M2 lambda / (pi d0) = 0.6 rad: d0 = 11.25 um.
    ({"waist_diameter": "11.247 um", "beam_quality_m2": 1, "defocus": "0 mm"}, "waist_diameter"),
    # D / (2 f) = 0.6 rad.
    ({"focal_length": "10 mm", "beam_diameter_at_lens": "12 mm", "beam_quality_m2": 1,
      "defocus": "0 mm"}, "focal_length"),
])  # fmt: skip
def test_a_beam_that_is_too_steep_is_refused_at_what_makes_it_so(spot: dict, field: str) -> None:
    ((name, (text,)),) = _refused({**CONTINUOUS, "spot": spot}).items()
    assert name == f"spot.{field}"
    assert text.startswith("gives a half divergence of 0.6 rad")


def test_a_waist_that_was_stated_is_given_and_has_no_source() -> None:
    waist = {"waist_diameter": "1 mm", "beam_quality_m2": 1, "defocus": "0 mm"}
    found = respond({**CONTINUOUS, "spot": waist})["dose"]["set"]
    assert (found["waist_diameter"]["formula"], found["waist_diameter"]["sources"]) == ("given", [])
    assert found["waist_diameter"]["value"] == pytest.approx(1)
    assert found["spot_diameter"]["formula"] == "api.dose.optics.diameter_at_defocus_m"
    lens = {"focal_length": "75 mm", "beam_diameter_at_lens": "6 mm", "beam_quality_m2": 1,
            "defocus": "0 mm"}  # fmt: skip
    found = respond({**CONTINUOUS, "spot": lens})["dose"]["set"]
    assert found["waist_diameter"]["formula"] == "api.dose.optics.waist_diameter_behind_lens_m"
    assert found["waist_position"]["formula"] == "api.dose.optics.waist_position_behind_lens_m"


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


NO_PULSES = "the emission has no pulses"
GATED = {"mode": "gated", "power": "4 W", "power_kind": "peak", "gate_on": "20 ms"}


@pytest.mark.parametrize(("request_", "reasons"), [
    (CONTINUOUS, {
        "spot_diameter": "no spot diameter is stated", "waist_diameter":
        "no lens, waist or waveguide tip is stated",
        "irradiance_mean": "no spot diameter is stated",
        "pulse_energy": NO_PULSES, "gate_energy": "the emission is not gated",
        "line_energy": "no speed is stated", "total_energy": "no emission time is stated",
        "dwell_time": "no spot diameter is stated"}),
    ({**CONTINUOUS, "spot": SPOT}, {
        "waist_diameter": "the spot is stated by its diameter, which says nothing about the waist "
        "of the beam", "dwell_time": "no speed is stated", "pulse_irradiance_mean": NO_PULSES}),
    ({**CONTINUOUS, "spot": {"waist_diameter": "1 mm", "beam_quality_m2": 1, "defocus": "0 mm"}}, {
        "waist_position": "no lens is stated from which the distance to the waist would count"}),
    ({"wavelength": "10.6 um", "emission": {**PULSES, "average_power": "9 W"}, "spot": SPOT}, {
        "fluence_mean": "depends on values that contradict each other"}),
    ({"wavelength": "10.6 um", "emission": {"mode": "pulsed", "power": "4 W",
                                            "repetition_rate": "100 Hz"}}, {
        "average_power": "it is not stated whether the power is average or peak",
        "pulse_duration": "not enough is given to work it out"}),
    ({"wavelength": "10.6 um", "emission": {
        **PULSES, "mode": "gated", "gate_on": "50.2 ms", "gate_off": "50 ms",
        "pulse_shape": "gaussian"}}, {
        "gate_energy": "the gate cuts the last pulse, and how a pulse of this shape is cut is not "
        "known"}),
    ({"wavelength": "10.6 um", "emission": GATED, "spot": SPOT, "motion": {"speed": "5 mm/s"}}, {
        "pulses_per_spot": NO_PULSES, "average_power": "not enough is given to work it out"}),
    ({"wavelength": "10.6 um", "emission": {**PULSES, "mode": "gated", "gate_on": "50 ms"},
      "spot": SPOT, "motion": {"speed": "5 mm/s"}}, {
        "overlap": "the emission is gated: it depends on where the gates fall along the track"}),
])  # fmt: skip
def test_what_is_absent_has_the_reason_a_person_can_act_on(request_: dict, reasons: dict) -> None:
    absent = respond(request_)["absent"]
    assert {name: absent[name] for name in reasons} == reasons
    assert "delivered_fraction" not in absent


def _notes(**change: object) -> dict[str, dict]:
    request = {**CONTINUOUS, **change}
    return {note["code"]: note for note in respond(request)["warnings"]}


def test_lines_of_the_literature_stand_beside_what_they_are_compared_with() -> None:
    """4 W over 0.4 mm: 3183 W/cm2. Char only below 6, zone 100 um above 13 kW/cm2 (`walsh1989`)."""
    notes = _notes(spot=SPOT, tissue=TISSUE)
    assert list(notes) == ["not_verified", "damage_literature", "line_char", "line_zone",
                           "measured_trend"]  # fmt: skip
    for code, text in (
        ("line_char", "below 6000 W/cm²; "),
        ("line_zone", "above 13 kW/cm² the zone"),
    ):
        assert notes[code]["sources"] == ["walsh1989"]
        assert notes[code]["text"].startswith(
            "literature line, not a target: with a continuous beam"
        )
        assert text in notes[code]["text"]
        assert notes[code]["text"].endswith("these settings give 3180 W/cm²")
    # 0.491 x 4 - 0.731 = 1.233 mm (`mungmee2023`).
    assert "about 1.23 mm deep" in notes["measured_trend"]["text"]
    assert notes["measured_trend"]["sources"] == ["mungmee2023"]
    assert notes["damage_literature"]["sources"] == ["suter2017", "tongue2014", "damagerange"]
    assert notes["not_verified"]["sources"] == []

    def has_trend(power: str) -> bool:
        return "measured_trend" in _notes(
            spot=SPOT, tissue=TISSUE, emission={"mode": "continuous", "power": power}
        )

    assert [has_trend(p) for p in ("2.999 W", "3 W", "10 W", "10.001 W")] == [
        False, True, True, False]  # fmt: skip
    gate = {**GATED, "gate_off": "30 ms"}
    gated = _notes(spot=SPOT, tissue=TISSUE, emission=gate)
    # In the gate 4 W, on average 1.6 W; a trend was measured without gates.
    assert gated["line_char"]["text"].endswith("these settings give 3180 W/cm²")
    assert "measured_trend" not in _notes(
        spot=SPOT, tissue=TISSUE, emission={**gate, "power": "8 W"}
    )
    assert "line_char" not in _notes(spot=SPOT)
    assert "line_char" not in _notes(spot=SPOT, tissue=TISSUE, wavelength="9.3 um")
    assert "line_char" not in _notes(spot=SPOT, tissue=TISSUE, emission=PULSES)
    assert "line_char" not in _notes(tissue=TISSUE)
    assert "measured_trend" in _notes(tissue=TISSUE)


def test_cautions_stand_where_they_belong() -> None:
    verified = _notes(delivery={"verified_ratio": 0.9})
    assert list(verified) == ["keep_panel"]
    assert verified["keep_panel"]["sources"] == []
    assert list(_notes(delivery={"loss": "1 dB"})) == ["by_design", "keep_panel"]
    unknown = {"mode": "pulsed", "power": "4 W", "repetition_rate": "100 Hz"}
    assert "power_kind_not_stated" in _notes(emission=unknown)
    assert "power_kind_not_stated" not in _notes(emission={**unknown, "power_kind": "peak"})
    assert "power_kind_not_stated" not in _notes(emission=PULSES)
    assert "power_kind_not_stated" not in _notes()
    # 0.4 mm spots at 100 Hz touch up to 40 mm/s.
    for speed, gaps in (("40 mm/s", False), ("40.1 mm/s", True)):
        assert ("gaps" in _notes(emission=PULSES, spot=SPOT, motion={"speed": speed})) is gaps
    # 30 ms at 13.3 mm/s is one spot.
    gate = {**GATED, "gate_off": "30 ms"}
    for speed, gaps in (("13 mm/s", False), ("14 mm/s", True)):
        assert ("gate_gaps" in _notes(emission=gate, spot=SPOT, motion={"speed": speed})) is gaps
    for wavelength, more in (("9.2 um", True), ("9.7 um", True), ("9.701 um", False)):
        notes = _notes(tissue=TISSUE, wavelength=wavelength)
        assert ("matrix_absorbs" in notes) is more
        assert not more or notes["matrix_absorbs"]["sources"] == ["practice"]
    cut = _notes(tissue=TISSUE, spot=SPOT, motion={"speed": "5 mm/s"}, emission=PULSES)
    assert cut["cut_depth_ideal"]["sources"] == ["walsh1989", "payne1997"]
    assert cut["pulse_depth_band"]["sources"] == ["payne1997"]
    assert len({note["text"] for note in cut.values()}) == len(cut)


def test_a_contradiction_is_told_with_both_values() -> None:
    # 50 mJ x 100 Hz = 5 W; 9 W is 80 % more, 4 W 20 % less.
    for stated, by, words in (("9 W", 0.8, "80 % more"), ("4 W", -0.2, "20 % less")):
        answer = respond({**PULSED, "emission": {**PULSES, "average_power": stated}})
        (one,) = answer["contradictions"]
        assert sorted(one["fields"]) == [
            "emission.average_power", "emission.pulse_energy", "emission.repetition_rate",
        ]  # fmt: skip
        assert one["fields"][-1] == "emission.average_power"
        assert one["given"] == {"value": float(stated[0]), "unit": "W"}
        assert one["expected"] == {"value": pytest.approx(5), "unit": "W"}
        assert one["by"] == pytest.approx(by)
        assert one["text"] == (
            f"average power is given as {stated}, but pulse energy and repetition rate give 5 W: "
            f"{words}"
        )
    period = {**PULSES, "pulse_period": "11 ms"}
    (one,) = respond({**PULSED, "emission": period})["contradictions"]
    assert one["text"] == (
        "pulse period is given as 11 ms, but repetition rate gives 10 ms: 10 % more"
    )


@pytest.mark.parametrize(("second", "clashes"), [("5.05 W", 0), ("5.051 W", 1), ("4.95 W", 0)])
def test_panels_round_by_one_percent(second: str, clashes: int) -> None:
    answer = respond({**PULSED, "emission": {**PULSES, "average_power": second}})
    assert len(answer["contradictions"]) == clashes


def test_limits_of_a_device_are_said_where_they_were_passed() -> None:
    gated = {"wavelength": "10.6 um", "emission": {**GATED, "gate_off": "30 ms"}}
    every = {
        "average_power": {"max": "1.5 W"}, "peak_power": {"min": "5 W"},
        "gate_on": {"max": "19 ms"},
        "gate_off": {"min": "31 ms"},
    }  # fmt: skip
    assert check_limits(gated, every) == {
        "emission.average_power": "average power 1.6 W is above the device's maximum, 1.5 W",
        "emission.power": "peak power 4 W is below the device's minimum, 5 W",
        "emission.gate_on": "gate on 20 ms is above the device's maximum, 19 ms",
        "emission.gate_off": "gate off 30 ms is below the device's minimum, 31 ms",
    }
    # A continuous power is both; the first of them is said.
    assert check_limits(
        CONTINUOUS, {"average_power": {"max": "3 W"}, "peak_power": {"max": "2 W"}}
    ) == {"emission.power": "average power 4 W is above the device's maximum, 3 W"}
    # 50 mJ in 400 us: 125 W, 4 %.
    assert check_limits(PULSED, {"peak_power": {"max": "100 W"}, "duty_cycle": {"max": "3 %"}}) == {
        "emission.peak_power": "peak power 125 W is above the device's maximum, 100 W",
        "emission.duty_cycle": "duty cycle 4 % is above the device's maximum, 3 %",
    }
    assert (
        check_limits(PULSED, {"gate_on": {"min": "1 s"}, "repetition_rate": {"max": "100 Hz"}})
        == {}
    )
    with pytest.raises(BadInput) as caught:
        check_limits(PULSED, {"duty_cycle": {"min": "5 W"}})
    assert caught.value.code == "bad_limit"
    assert list(caught.value.errors) == ["limits.duty_cycle.min"]


def test_an_answer_as_lines() -> None:
    lines = as_lines(respond({**CONTINUOUS, "spot": SPOT}))
    # A name in 26 columns, a value in 16; nothing arrives that is known, so there is one column.
    assert lines[0] == " " * 26 + "set"
    assert "average power".ljust(26) + "4 W" in lines
    assert "irradiance mean".ljust(26) + "3180 W/cm²" in lines
    assert all(line == line.rstrip() for line in lines)
    design = as_lines(respond({**CONTINUOUS, "delivery": {"lens_transmittance": 0.5}}))
    assert design[0] == " " * 26 + "set".ljust(16) + "design"
    assert "average power".ljust(26) + "4 W".ljust(16) + "2 W" in design
    emission = {**PULSES, "average_power": "9 W"}
    told = respond({**PULSED, "emission": emission})
    assert f"contradiction: {told['contradictions'][0]['text']}" in as_lines(told)
    when = {"verified_ratio": 0.5, "verified_at": "2026-11-20T10:15:00+01:00"}
    assert as_lines(respond({**CONTINUOUS, "delivery": when}))[0].endswith("verified 2026-11-20")


def test_steps_are_not_worked_out_twice() -> None:
    calls = []

    def half(*, x: float) -> float:
        calls.append(x)
        return x / 2

    first = Steps()
    one = first.result("half", "f", half, {"x": 4.0})
    assert one == Result(2.0, "f")
    assert one.ends == (2.0, 2.0)
    again = Steps(first)
    assert again.result("half", "f", half, {"x": 4.0}) is one
    assert calls == [4.0]
    assert Steps(again).result("half", "f", half, {"x": 6.0}) == Result(3.0, "f")
    # What was taken over from an earlier one is there for a later one.
    assert Steps(again).result("half", "f", half, {"x": 4.0}) is one
    assert calls == [4.0, 6.0]
    band = first.result("pair", "g", lambda *, x: (x, 2 * x), {"x": 1.0})
    assert band == Band(1.0, 2.0, "g")
    assert band.ends == (1.0, 2.0)
    kept = first.once("kind", 1, lambda: "a")
    assert (kept, Steps(first).once("kind", 1, lambda: "b")) == ("a", "a")
    assert Steps(first).once("kind", 2, lambda: "b") == "b"


def test_intervals_stay_inside_what_can_be() -> None:
    """An interval of two standard uncertainties ends at 0, but for an overlap."""
    request = {
        **PULSED, "delivery": {"verified_ratio": 0.5, "verified_ratio_uncertainty": 0.6},
        "motion": {"speed": "36 mm/s"}, "uncertainty": {"spot.diameter": 0.2},
    }  # fmt: skip
    answer = respond(request)
    power = answer["intervals"]["delivered"]["average_power"]
    # 2.5 W, 120 % to either side.
    assert power == {"low": 0.0, "high": pytest.approx(5.5, rel=1e-6), "unit": "W"}
    # 1 - v / (f d) = 0.1; du = (v / (f d)) 20 % = 0.18, twice to either side.
    overlap = answer["intervals"]["set"]["overlap"]
    assert overlap["low"] == pytest.approx(0.1 - 0.36, rel=1e-4)
    assert overlap["high"] == pytest.approx(0.1 + 0.36, rel=1e-4)
    assert answer["intervals"]["set"]["spot_diameter"] == {
        "low": pytest.approx(0.24), "high": pytest.approx(0.56), "unit": "mm",
    }  # fmt: skip
    # What rests on the tissue has no interval, as none of its properties has one.
    for name in ("absorption_depth", "thermal_relaxation_time", "pulse_depth"):
        assert answer["intervals"]["set"][name] == "not stated"
    # A literature range rests on nothing; counts have none.
    assert "thermal_damage" not in answer["intervals"]["set"]
    assert respond(CONTINUOUS)["intervals"] == {"coverage_factor": 2, "set": {}, "delivered": None}
