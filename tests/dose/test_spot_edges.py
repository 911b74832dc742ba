"""What arrives of a power, and the spot it falls on.

Expected values are worked out beside each check from the words of the docstrings and the contract;
the limits themselves are those of `constants.json` with their sources.
"""

import pytest

from api.dose.arrival import basis_of, delivered_fraction, design_transmission, stated_beside
from api.dose.evaluate import respond
from api.dose.spot import form_of
from api.dose.steps import Result
from tests.dose.settings import CONTINUOUS, refused


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
    assert refused(request) == {"spot.full_divergence": ["must be from 1 µrad to 1 rad"]}


@pytest.mark.parametrize(("spot", "field"), [
    # 2 M2 lambda / (pi d0) = 0.6 rad: d0 = 11.25 um.
    ({"waist_diameter": "11.247 um", "beam_quality_m2": 1, "defocus": "0 mm"}, "waist_diameter"),
    # D / (2 f) = 0.6 rad.
    ({"focal_length": "10 mm", "beam_diameter_at_lens": "12 mm", "beam_quality_m2": 1,
      "defocus": "0 mm"}, "focal_length"),
])  # fmt: skip
def test_a_beam_that_is_too_steep_is_refused_at_what_makes_it_so(spot: dict, field: str) -> None:
    ((name, (text,)),) = refused({**CONTINUOUS, "spot": spot}).items()
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
