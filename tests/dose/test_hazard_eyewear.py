"""Distances, grades of eyewear and classes, by hand and at their limits.

Limits and corrections are those of the tables named in `constants.json` (ICNIRP 2013; grades of
EN 207; classes of IEC 60825-1, from memory); distances are worked out by hand from the geometry in
each docstring. Which side a boundary itself belongs to is what the docstrings say.
"""

import math

import pytest

from api.dose.hazard import distances, eyewear


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
    # Read as a request is: 500 nm is no bit above 500 nm.
    wavelength_m = float(f"{nanometres}e-9")
    found = eyewear.visible_class(power_w=milliwatts / 1000, wavelength_m=wavelength_m)
    assert found == name
