"""Exposure limits, apertures and the areas they are averaged over, at the ends of their tables."""

import pytest

from api.dose.hazard import limits
from api.dose.hazard.evaluate import respond
from api.dose.hazard.train import WHOLE, pulse_limits_j_m2

CO2 = {"wavelength": "10.6 um", "exposure_time": "10 s", "emission": {"power": "10 W"}}


def test_both_sides_of_the_step_at_ten_seconds() -> None:
    # 5600 x 10^0.25 / 10 = 995.8 W/m2 just below, 1000 W/m2 from there on: a real step.
    place = {"wavelength_m": 10.6e-6, "target": "eye"}
    before = limits.limit_irradiance_w_m2(**place, exposure_time_s=10 - 1e-9)
    assert before == pytest.approx(995.836, abs=0.001)
    assert limits.limit_irradiance_w_m2(**place, exposure_time_s=10.0) == 1000


def test_ends_of_the_tables() -> None:
    last = {"wavelength_m": 1e-3, "target": "skin"}
    assert limits.limit_irradiance_w_m2(**last, exposure_time_s=30_000) == 1000
    assert not limits.offered(**last, exposure_time_s=30_001)
    assert not limits.offered(wavelength_m=10.6e-6, exposure_time_s=0.9e-9, target="eye")
    # Blue light: 10 s is offered, longer is not.
    blue = {"wavelength_m": 488e-9, "target": "eye"}
    assert limits.offered(**blue, exposure_time_s=10)
    assert not limits.offered(**blue, exposure_time_s=10.1)
    answer = respond(
        {"wavelength": "488 nm", "exposure_time": "60 s", "emission": {"power": "1 mW"}}
    )
    assert "blue-light" in answer["absent"]["exposure_limit_irradiance"]
    assert "optical_density" in answer["absent"]


def test_the_directive_keeps_the_third_rule() -> None:
    """50 Hz, 0.6 ms, 10 s: 876.447 x 500^-0.25 = 185.35 J/m2; the whole exposure is stricter."""
    train = {
        "wavelength_m": 10.6e-6, "pulse_duration_s": 6e-4, "repetition_rate_hz": 50.0,
        "exposure_time_s": 10.0, "target": "eye",
    }  # fmt: skip
    found = pulse_limits_j_m2(**train, edition="2006/25/EC")
    assert found["adding up"] == pytest.approx(185.35, abs=0.005)
    assert min(found, key=lambda name: found[name]) == WHOLE
    # One pulse a second for 10 s: 876.447 x 10^-0.25 = 492.9 against 10000 / 10 = 1000.
    slow = {**train, "repetition_rate_hz": 1.0}
    assert min(pulse_limits_j_m2(**slow, edition="2006/25/EC").values()) == pytest.approx(
        492.86, abs=0.01
    )
    assert min(pulse_limits_j_m2(**slow, edition="ICNIRP 2013").values()) == pytest.approx(
        876.447, abs=0.001
    )


def test_large_areas_of_skin() -> None:
    for area_cm2, expected in ((50, 1000), (100, 1000), (500, 200), (1000, 100), (5000, 100)):
        answer = respond(
            {
                **CO2,
                "exposure_time": "60 s",
                "target": "skin",
                "skin": {"exposed_area": f"{area_cm2} cm^2"},
            }
        )
        value = answer["results"]["exposure_limit_irradiance"]["value"]
        assert value == pytest.approx(expected, rel=1e-12)


def test_apertures() -> None:
    def of(wavelength_m: float, seconds: float, target: str = "eye") -> float:
        return limits.limiting_aperture_m(
            wavelength_m=wavelength_m, exposure_time_s=seconds, target=target
        )

    assert of(650e-9, 0.25) == 7e-3
    assert of(10.6e-6, 0.35) == 1e-3
    # 1.5 t^(3/8) mm: at 1 s 1.5 mm.
    assert of(10.6e-6, 1) == pytest.approx(1.5e-3, rel=1e-12)
    assert of(10.6e-6, 10) == 3.5e-3
    assert of(10.6e-6, 1e-3, "skin") == 3.5e-3
    answer = respond({**CO2, "wavelength": "200 um"})
    assert "aperture" in answer["absent"]["limiting_aperture"]


def test_small_beams_are_not_averaged_over_a_short_time() -> None:
    beam = {"diameter": "0.2 mm", "diameter_definition": "63 %"}
    short = respond({**CO2, "exposure_time": "0.25 s", "beam": beam})["results"]
    # 10 W over 0.2 mm is 3.18e8 W/m2; 3959.8 / 0.25 = 15839 W/m2: log10 20097 = 4.303.
    assert short["optical_density"]["value"] == pytest.approx(4.3031, abs=5e-4)
    long = respond({**CO2, "beam": beam})["results"]
    assert long["optical_density"]["value"] == pytest.approx(3.0168, abs=5e-5)
