"""Lens, waist and waveguide tip: limits, scaling, an independent propagation, the mode itself."""

import math

import LightPipes
import numpy as np
import pytest

from api.dose import optics
from api.dose.constants import number
from api.dose.evaluate import respond

LAMBDA_M = 10.6e-6
CONTINUOUS = {"mode": "continuous", "power": "4 W"}


def _ask(spot: dict, wavelength: str = "10.6 um") -> dict:
    return respond({"wavelength": wavelength, "emission": CONTINUOUS, "spot": spot})


def _values(spot: dict, wavelength: str = "10.6 um") -> dict[str, float]:
    dose = _ask(spot, wavelength)["dose"]["set"]
    return {name: result["value"] for name, result in dose.items()}


def _lens(focal_mm: float, beam_mm: float, m2: float = 1, defocus_mm: float = 0) -> dict:
    return {
        "focal_length": f"{focal_mm} mm",
        "beam_diameter_at_lens": f"{beam_mm} mm",
        "beam_quality_m2": m2,
        "defocus": f"{defocus_mm} mm",
    }


# A mode of lowest order, and Hermite-Gauss (1, 1), whose second-moment width is sqrt 3 times as
# large and whose M2 is 2 n + 1 = 3 in both directions (`siegman1986`, from memory).
MODES = [
    pytest.param(1, lambda x, y, w: np.exp(-(x * x + y * y) / w**2), id="M2=1"),
    pytest.param(3, lambda x, y, w: x * y * np.exp(-(x * x + y * y) / w**2), id="M2=3"),
]


def _field(size_m: float, points: int, w_m: float, mode) -> LightPipes.Field:
    """Return a field built point by point, so that nothing of a closed form is in it."""
    field = LightPipes.Begin(size_m, LAMBDA_M, points)
    y, x = field.mgrid_cartesian
    amplitude = mode(x, y, w_m)
    field = LightPipes.SubIntensity(field, amplitude * amplitude)
    field = LightPipes.SubPhase(field, np.where(amplitude < 0, math.pi, 0.0))
    assert not field._IsGauss
    return field


def _second_moment_m(field: LightPipes.Field) -> float:
    return float(LightPipes.D4sigma(field)[0])


@pytest.mark.parametrize(("m2", "mode"), MODES)
def test_a_waist_widens_as_a_propagated_field_does(m2: int, mode) -> None:
    field = _field(6e-3, 512, 1e-4, mode)
    waist_m = 2e-4 * math.sqrt(m2)
    assert _second_moment_m(field) == pytest.approx(waist_m, rel=1e-9)
    for defocus_mm in (1, 3, 10):
        spot = {
            "waist_diameter": {"value": waist_m, "unit": "m"},
            "beam_quality_m2": m2,
            "defocus": f"{defocus_mm} mm",
        }
        measured_m = _second_moment_m(LightPipes.Forvard(field, defocus_mm / 1000))
        assert _values(spot)["spot_diameter"] == pytest.approx(1000 * measured_m, rel=1e-6)


@pytest.mark.parametrize(("m2", "mode"), MODES)
def test_a_lens_makes_the_waist_that_a_propagated_field_has(m2: int, mode) -> None:
    beam_mm = 4 * math.sqrt(m2)
    field = LightPipes.Lens(_field(16e-3, 1024, 2e-3, mode), 0.1)
    waist = _values(_lens(100, beam_mm, m2))
    defocused = _values(_lens(100, beam_mm, m2, 5))["spot_diameter"]
    for away_mm, expected in ((-5, defocused), (0, waist["waist_diameter"]), (5, defocused)):
        distance_m = (waist["waist_position"] + away_mm) / 1000
        measured_m = _second_moment_m(LightPipes.Forvard(field, distance_m))
        assert expected == pytest.approx(1000 * measured_m, rel=1e-6)


def _lowest_mode(x: float) -> float:
    """Return J0(x) by its integral over a half turn, midpoint rule (exact here to 1e-15)."""
    return sum(math.cos(x * math.sin(math.pi * (k + 0.5) / 40)) for k in range(40)) / 40


def test_the_tip_factor_is_the_best_overlap_with_the_lowest_mode() -> None:
    # First zero of J0, by bisection.
    low, high = 2.0, 3.0
    while high - low > 1e-12:
        middle = (low + high) / 2
        low, high = (middle, high) if _lowest_mode(middle) > 0 else (low, middle)
    radii = [(k + 0.5) / 2000 for k in range(2000)]
    field = [_lowest_mode(low * r) for r in radii]
    power = sum(r * u * u for r, u in zip(radii, field, strict=True)) / 2000

    def overlap(w: float) -> float:
        common = sum(
            r * u * math.exp(-r * r / w**2) for r, u in zip(radii, field, strict=True)
        ) / 2000  # fmt: skip
        return common * common / (power * w**2 / 4)

    factor = number("HE11_WAIST_PER_BORE")
    assert overlap(factor) == pytest.approx(0.98075, abs=1e-5)
    # The top of a smooth curve is where it falls equally to both sides.
    step = 0.01
    sides = overlap(factor - step), overlap(factor + step)
    slope = (sides[1] - sides[0]) / (2 * step)
    bend = (sides[0] - 2 * overlap(factor) + sides[1]) / step**2
    assert abs(slope / bend) < 3e-4
    best = max((0.6 + 0.0005 * k for k in range(160)), key=overlap)
    assert best == pytest.approx(factor, abs=5e-4)


def test_the_exact_lens_nears_the_collimated_form() -> None:
    # B01: w0 = lambda f / (pi w_in). Exact is this over sqrt(1 + (f / zR_in)^2).
    for focal_mm, beam_mm in ((50, 4), (125, 8), (500, 40)):
        collimated_mm = 4 * 0.0106 * focal_mm / (math.pi * beam_mm)
        incoming_mm = math.pi * beam_mm**2 / (4 * 0.0106)
        found = _values(_lens(focal_mm, beam_mm))["waist_diameter"]
        expected = collimated_mm / math.sqrt(1 + (focal_mm / incoming_mm) ** 2)
        assert found == pytest.approx(expected, rel=1e-12)
        # The trap 2 f lambda / D is pi/2 too large (B08).
        trap_mm = 2 * focal_mm * 0.0106 / beam_mm
        assert trap_mm / collimated_mm == pytest.approx(math.pi / 2)


def test_a_lens_much_too_weak_leaves_the_beam_as_it_is() -> None:
    # zR_in = pi 0.5^2 / 0.0106 = 74.0942 mm against f = 10 m: as wide as the beam, and the waist
    # zR_in^2 / f behind the lens.
    found = _values(_lens(10_000, 1))
    assert found["waist_diameter"] == pytest.approx(1, rel=1e-4)
    assert found["waist_position"] == pytest.approx(74.0942**2 / 10_000, rel=1e-4)


def test_at_the_lens_the_beam_has_its_own_diameter() -> None:
    """Going back from the waist to the lens must give the beam that came in."""
    for m2 in (1, 1.7):
        found = _values(_lens(75, 6, m2))
        back = _values({**_lens(75, 6, m2),
                        "defocus": {"value": found["waist_position"], "unit": "mm"}})  # fmt: skip
        assert back["spot_diameter"] == pytest.approx(6, rel=1e-12)


@pytest.mark.parametrize("spot", [
    _lens(75, 6, 1.3),
    {"waist_diameter": "0.2 mm", "beam_quality_m2": 1.3, "defocus": "0 mm"},
    {"bore_diameter": "0.5 mm", "distance": "0 mm"},
    {"bore_diameter": "0.5 mm", "distance": "0 mm", "full_divergence": "120 mrad"},
])  # fmt: skip
def test_near_and_far_are_waist_and_divergence(spot: dict) -> None:
    away = "distance" if "distance" in spot else "defocus"
    near = _values(spot)
    assert near["spot_diameter"] == near["waist_diameter"]
    rayleigh = {**spot, away: {"value": near["rayleigh_range"], "unit": "mm"}}
    assert _values(rayleigh)["spot_diameter"] == pytest.approx(
        math.sqrt(2) * near["waist_diameter"], rel=1e-12
    )
    assert near["depth_of_focus"] == pytest.approx(2 * near["rayleigh_range"], rel=1e-15)
    far = _values({**spot, away: "10 m"})["spot_diameter"] / 2 / 10_000
    angle = near["half_divergence"] / 1000
    slope = math.tan(angle) if "full_divergence" in spot else angle
    assert far == pytest.approx(slope, rel=1e-6)
    sizes = [_values({**spot, away: f"{z} mm"})["spot_diameter"] for z in range(6)]
    assert sizes == sorted(sizes)


def test_lengths_scale_together_and_angles_stay() -> None:
    """Wavelength and every length twice as large: every length of the answer is, no angle is."""
    single = _values(_lens(75, 6, 1.3, 2))
    double = _values(_lens(150, 12, 1.3, 4), "21.2 um")
    for name in ("spot_diameter", "waist_diameter", "waist_position", "rayleigh_range"):
        assert double[name] == pytest.approx(2 * single[name], rel=1e-12), name
    assert double["half_divergence"] == pytest.approx(single["half_divergence"], rel=1e-12)


def test_a_worse_beam_is_a_longer_wavelength() -> None:
    assert _values(_lens(75, 6, 2, 1)) == pytest.approx(_values(_lens(75, 6, 1, 1), "21.2 um"))


def test_a_spot_worked_out_gives_the_dose_of_that_diameter() -> None:
    found = _values(_lens(75, 6, 1.3, 2))
    stated = {
        "diameter": {"value": found["spot_diameter"], "unit": "mm"},
        "diameter_definition": "1/e2",
    }
    same = _values(stated)
    for name, value in same.items():
        assert found[name] == pytest.approx(value, rel=1e-12), name


@pytest.mark.parametrize(("spot", "said"), [
    ({"bore_diameter": "0.5 mm", "distance": "1 mm"}, True),
    ({"bore_diameter": "0.5 mm", "distance": "1 mm", "full_divergence": "0.1 rad"}, True),
    (_lens(50, 4), False),
])  # fmt: skip
def test_a_waveguide_tip_is_said_to_be_a_lower_bound(spot: dict, said: bool) -> None:
    notes = {note["code"]: note for note in _ask(spot)["warnings"]}
    assert ("tip_lower_bound" in notes) is said
    if said:
        assert _ask(spot)["dose"]["set"]["waist_diameter"]["sources"] == ["abrams1972"]
        assert "lower bound" in notes["tip_lower_bound"]["text"]
        assert notes["tip_lower_bound"]["sources"] == ["abrams1972"]


def test_every_function_is_reached_by_a_request() -> None:
    spots = (
        _lens(50, 4),
        {"bore_diameter": "0.5 mm", "distance": "1 mm", "full_divergence": "0.1 rad"},
    )
    seen = {
        result["formula"].rpartition(".")[2]
        for spot in spots
        for result in _ask(spot)["dose"]["set"].values()
        if result["formula"].startswith("api.dose.optics.")
    }
    public = {
        name
        for name, function in vars(optics).items()
        if getattr(function, "__module__", "") == optics.__name__ and not name.startswith("_")
    }
    assert seen == public
