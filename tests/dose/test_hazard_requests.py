"""Whole answers of the hazard engine: a typical laser, what is refused, what stands beside it."""

import math

import pytest

from api.dose.hazard.evaluate import respond
from api.errors import BadInput

CO2 = {"wavelength": "10.6 um", "exposure_time": "10 s", "emission": {"power": "10 W"}}


def test_a_typical_handpiece() -> None:
    """f 100 mm, 8 mm 1/e2 on the lens, 10 W: 1.99 m and 5.6 cm (worked out by hand).

    b at 63 % is 8 / sqrt 2 = 5.657 mm; 100 / 5.657 x sqrt(4 x 10 / (pi x 1000)) = 1.995 m;
    sqrt(10 / (pi x 1000)) = 0.0564 m.
    """
    lens = {"focal_length": "100 mm", "beam_diameter": "8 mm", "diameter_definition": "1/e2"}
    results = respond({**CO2, "lens": lens})["results"]
    assert results["lens_distance"]["value"] == pytest.approx(1.9947, abs=5e-5)
    assert results["diffuse_distance"]["value"] == pytest.approx(0.05642, abs=5e-6)
    # Taken for a 63 % diameter by mistake the zone would come out too small by sqrt 2.
    wrong = respond({**CO2, "lens": {**lens, "diameter_definition": "63 %"}})["results"]
    ratio = results["lens_distance"]["value"] / wrong["lens_distance"]["value"]
    assert ratio == pytest.approx(math.sqrt(2), rel=1e-12)


def test_density_of_a_co2_laser() -> None:
    # 2.017 + log10(P / W): 1 W over a disc of 3.5 mm is 103 939 W/m2, over 1000 W/m2.
    for watts in (1, 3, 10, 40):
        answer = respond({**CO2, "emission": {"power": f"{watts} W"}})
        expected = math.log10(watts / (math.pi / 4 * 0.0035**2) / 1000)
        assert answer["results"]["optical_density"]["value"] == pytest.approx(expected, rel=1e-12)
        assert expected == pytest.approx(2.017 + math.log10(watts), abs=5e-4)


@pytest.mark.parametrize(
    ("power", "name"),
    [("0.38 mW", "1"), ("0.4 mW", "2"), ("1 mW", "2"), ("3 mW", "3R"), ("5.1 mW", "3B"),
     ("0.51 W", "4")],
)  # fmt: skip
def test_class_of_an_aiming_beam(power: str, name: str) -> None:
    red = {"wavelength": "650 nm", "exposure_time": "0.25 s", "emission": {"power": power}}
    assert respond(red)["results"]["aiming_beam_class"]["value"] == name


@pytest.mark.parametrize(
    ("change", "path"),
    [
        ({"wavelength": "300 nm"}, "wavelength"),
        ({"wavelength": "2 mm"}, "wavelength"),
        ({"exposure_time": None}, "exposure_time"),
        ({"emission": {}}, "emission"),
        ({"emission": {"power": "10 W", "pulse_energy": "1 J"}}, "emission.pulse_energy"),
        ({"emission": {"pulse_energy": "1 J"}}, "emission.pulse_duration"),
        (
            {
                "emission": {
                    "pulse_energy": "1 J",
                    "pulse_duration": "1 s",
                    "repetition_rate": "2 Hz",
                }
            },
            "emission.pulse_duration",
        ),
        ({"beam": {"diameter": "8 mm"}}, "beam.diameter_definition"),
        ({"lens": {"focal_length": "100 mm"}}, "lens.beam_diameter"),
        ({"target": "nose"}, "target"),
        ({"edition": "1999"}, "edition"),
        ({"eyewear": {"beam_size_factor": "yes"}}, "eyewear.beam_size_factor"),
        ({"colour": "red"}, "colour"),
        ({"emission": {"power": "-1 W"}}, "emission.power"),
        ({"emission": {"power": "1,5 W"}}, "emission.power"),
    ],
)
def test_refusals_name_their_field(change: dict, path: str) -> None:
    with pytest.raises(BadInput) as refused:
        respond({**CO2, **change})
    assert path in refused.value.errors


def test_cautions_stand_beside_the_numbers() -> None:
    codes = {one["code"] for one in respond(CO2)["warnings"]}
    assert codes >= {
        "not_for_tissue", "everybody_wears_eyewear", "greatest_output", "diffuse_never_decides",
        "density_not_burn_through", "aiming_beam_passes", "without_beam_size_factor",
    }  # fmt: skip
