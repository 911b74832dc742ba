"""Exposure limits and apertures: which side of each line a value is on.

Limits and corrections are those of the tables named in `constants.json` (ICNIRP 2013; grades of
EN 207; classes of IEC 60825-1, from memory); distances are worked out by hand from the geometry in
each docstring. Which side a boundary itself belongs to is what the docstrings say.
"""

from math import nextafter

import pytest

from api.dose.hazard import editions, limits
from api.dose.hazard.train import pulse_limits_j_m2
from tests.dose.hazards import nm


@pytest.mark.parametrize(("nanometres", "factor"), [
    (400, 1), (700, 1), (701, 10**0.002), (800, 10**0.2), (1049, 10**0.698), (1050, 5), (1200, 5),
])  # fmt: skip
def test_less_is_absorbed_by_the_retinas_pigment(nanometres: float, factor: float) -> None:
    assert limits.c_a(wavelength_m=nm(nanometres)) == pytest.approx(factor, rel=1e-9)


@pytest.mark.parametrize(("nanometres", "factor"), [
    (1060, 1), (1149.9, 1), (1160, 10**0.18), (1199, 10**0.882), (1200.001, 8 + 10**-2.0),
    (1250, 9), (1300, 108), (1200, 8 + 10**-2.0),
])  # fmt: skip
def test_more_is_absorbed_before_the_retina(nanometres: float, factor: float) -> None:
    assert limits.c_c(wavelength_m=nm(nanometres)) == pytest.approx(factor, rel=1e-4)


def test_at_1200_nm_the_later_row_holds() -> None:
    # 8 + 10^(0.04 x -50), not 10^(0.018 x 50) = 7.94; as a request is read, to the last bit.
    assert limits.c_c(wavelength_m=1.2e-6) == pytest.approx(8.01, rel=1e-9)


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
    place = {"wavelength_m": nm(nanometres), "exposure_time_s": seconds, "target": target}
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
    place = {"wavelength_m": nm(nanometres), "exposure_time_s": seconds, "target": target}
    assert limits.offered(**place) is offered
    if limits._row(place["wavelength_m"], seconds, target) is None:
        with pytest.raises(KeyError, match=r"^'no limit is offered'$"):
            limits.limit_fluence_j_m2(**place)
        assert limits.is_thermal(**place) is False


def test_the_directive_is_never_less_strict_than_its_own_rows() -> None:
    """Table 2.2 as transposed: 5e-3 until 18 us, then 18 t^0.75; from 1050 nm 5e-2 until 50 us,
    then 90 t^0.75 (from memory); with C_A or C_C, which is 8 from 1200 nm."""
    for nanometres, factor, low, end_s, growth in (
        (650, 1, 5e-3, 1.8e-5, 18), (800, 10**0.2, 5e-3, 1.8e-5, 18),
        (1050, 1, 5e-2, 5e-5, 90), (1160, 10**0.18, 5e-2, 5e-5, 90), (1340, 8, 5e-2, 5e-5, 90),
    ):  # fmt: skip
        for step in range(181):
            seconds = 1e-9 * 10 ** (step / 20)
            row = low if seconds < end_s else growth * seconds**0.75
            found = limits.limit_fluence_j_m2(
                wavelength_m=nm(nanometres), exposure_time_s=seconds, target="eye",
                edition="2006/25/EC",
            )  # fmt: skip
            assert found <= row * factor * (1 + 1e-12), (nanometres, seconds)


@pytest.mark.parametrize(("nanometres", "seconds", "limit_j_m2"), [
    (650, 1e-9, 2e-3), (1049.9, 1e-8, 2e-3 * 10**0.6998), (1050, 1e-8, 2e-2), (1064, 4.8e-5, 5e-2),
    (1064, 5e-5, 90 * 5e-5**0.75), (1340, 1e-7, 0.16), (1340, 1, 720),
    (10_600, 1e-6, 5600 * 1e-6**0.25),
])  # fmt: skip
def test_the_directives_limit_at_its_ends(nanometres, seconds, limit_j_m2: float) -> None:
    place = {"wavelength_m": nanometres / 1e9, "exposure_time_s": seconds, "target": "eye"}
    found = limits.limit_fluence_j_m2(**place, edition="2006/25/EC")
    assert found == pytest.approx(limit_j_m2, rel=1e-6)


@pytest.mark.parametrize(("seconds", "edition", "aperture_m"), [
    (0.3, "2006/25/EC", 1e-3), (0.3001, "2006/25/EC", 1.5e-3 * 0.3001**0.375),
    (0.35, "2006/25/EC", 1.5e-3 * 0.35**0.375), (0.35, "ICNIRP 2013", 1e-3),
])  # fmt: skip
def test_the_directives_short_exposures_end_sooner(seconds, edition: str, aperture_m) -> None:
    place = {"wavelength_m": 1.06e-5, "exposure_time_s": seconds, "target": "eye"}
    found = limits.limiting_aperture_m(**place, edition=edition)
    assert found == pytest.approx(aperture_m, rel=1e-12)


def test_in_the_directive_no_retinal_limit_is_given_below_a_nanosecond() -> None:
    place = {"wavelength_m": 1.064e-6, "exposure_time_s": 0.99e-9, "target": "eye"}
    assert limits.offered(**place)
    assert not limits.offered(**place, edition="2006/25/EC")
    with pytest.raises(KeyError, match=r"^'no limit is offered'$"):
        limits.limit_fluence_j_m2(**place, edition="2006/25/EC")


def test_small_beams_stay_whole_until_the_later_end_in_both_editions() -> None:
    beam = {"beam_diameter_m": 5e-4, "wavelength_m": 1.06e-5, "target": "eye"}
    for edition in ("ICNIRP 2013", "2006/25/EC"):
        found = limits.averaged_diameter_m(**beam, exposure_time_s=0.32, edition=edition)
        assert found == 5e-4


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
    with pytest.raises(KeyError, match=r"^'no aperture is offered'$"):
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
    """H(pulse) N^-0.25 for the retina and, in the directive, for each limit."""

    def rules(nanometres: float, **change: object) -> dict[str, float]:
        train = {
            "wavelength_m": nm(nanometres), "pulse_duration_s": 1e-4, "repetition_rate_hz": 16.0,
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
    # In the directive short pulses add up too, whether or not their row is called a thermal one.
    assert rules(650, pulse_duration_s=1e-6, edition="2006/25/EC")["adding up"] == (
        pytest.approx(2e-3 / 2)
    )
    short = {"pulse_duration_s": 5e-8, "edition": "2006/25/EC"}
    assert rules(10_600, **short)["adding up"] == pytest.approx(100 / 2)
    assert rules(650, **short, target="skin")["adding up"] == pytest.approx(200 / 2)
    assert rules(1450, edition="2006/25/EC")["adding up"] == pytest.approx(1000 / 2)
    assert "adding up" not in rules(10_600, pulse_duration_s=5e-8)
    # Shorter than 5 us the limit is no thermal one.
    assert "adding up" not in rules(650, pulse_duration_s=1e-6)
    # Pulses of 0.1 us at 1 MHz for 100 s, in the directive: those within 18 us as one of 18 us,
    # 18 (18e-6)^0.75 / 18 x (100 / 18e-6)^-0.25 = 18 x 100^-0.25 / 1e6 = 5.6921e-6 J/m2, stricter
    # than 2e-3 x 1e8^-0.25 = 2e-5 and than 10 W/m2 / 1 MHz; from 1050 nm those within 50 us,
    # 90 x 100^-0.25 / 1e6. At 10 kHz each stands alone, and at 40 kHz from 1050 nm only.
    fast = {
        "pulse_duration_s": 1e-7, "repetition_rate_hz": 1e6, "exposure_time_s": 100.0,
        "edition": "2006/25/EC",
    }  # fmt: skip
    assert min(rules(650, **fast).values()) == pytest.approx(5.6921e-6, rel=1e-5)
    assert rules(650, **fast)["adding up"] == pytest.approx(5.6921e-6, rel=1e-5)
    assert rules(1064, **fast)["adding up"] == pytest.approx(2.84605e-5, rel=1e-5)
    # At 1300 nm the directive's C_C is 8: 90 x 8 x 100^-0.25 / 1e6, and 50 x 8 W/m2 / 1 MHz.
    assert rules(1300, **fast)["adding up"] == pytest.approx(2.27684e-4, rel=1e-5)
    assert rules(1300, **fast)["whole exposure"] == pytest.approx(4e-4)
    assert "adding up" not in rules(650, **fast | {"edition": "ICNIRP 2013"})
    slow = fast | {"repetition_rate_hz": 1e4}
    assert rules(650, **slow)["adding up"] == pytest.approx(2e-3 * 1e6**-0.25)
    # Within an exposure shorter than that all are one: 10 of them in 10 us, 18 (1e-5)^0.75 / 10.
    brief = fast | {"exposure_time_s": 1e-5}
    assert rules(650, **brief)["adding up"] == pytest.approx(18 * 1e-5**0.75 / 10)
    # Less than one pulse in the exposure counts as one.
    assert rules(650, repetition_rate_hz=0.5)["whole exposure"] == pytest.approx(18)
    assert rules(650, repetition_rate_hz=1.5)["whole exposure"] == pytest.approx(12)


def test_the_directives_short_rows_meet_at_1050_nm() -> None:
    # Directive 2006/25/EC: 5e-3 J/m2 before, 5e-2 J/m2 from there on; to the last digits of a
    # wavelength, as a wavelength in metres times 1e9 is one in nanometres.
    before = editions.short_retinal_j_m2(wavelength_m=1049.9999995e-9, exposure_time_s=1e-6)
    assert before == pytest.approx(5e-3)
    at = editions.short_retinal_j_m2(wavelength_m=1050e-9, exposure_time_s=1e-6)
    assert at == pytest.approx(5e-2)


def test_a_limit_that_equals_the_directives_is_none_that_is_stricter() -> None:
    # 90 t^0.75 J/m2 is 0.05 J/m2 at (0.05 / 90)^(4/3) s, by hand 45.67 us.
    at_s = (0.05 / 90) ** (4 / 3)
    assert at_s == pytest.approx(45.67e-6, rel=1e-4)
    for _ in range(200):
        at_s = nextafter(at_s, 0)
    while 90 * at_s**0.75 < 0.05:
        at_s = nextafter(at_s, 1)
    asked = {"wavelength_m": 1.2e-6, "target": "eye", "edition": limits.EU_2006}
    assert 90 * at_s**0.75 == 0.05
    assert not limits.is_stricter_than_directive(**asked, exposure_time_s=at_s)
    shorter_s = at_s * (1 - 1e-9)
    assert limits.is_stricter_than_directive(**asked, exposure_time_s=shorter_s)
