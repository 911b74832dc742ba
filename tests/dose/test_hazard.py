"""The hazard engine against printed values: guides, regulations, worked examples, own arithmetic.

Each case names its source in ``tests/vectors/hazard.json``. ``pwa/tests/dose/hazard.test.ts``
asks the tablet's engine the same.
"""

import json
import math
from decimal import Decimal
from pathlib import Path

import pytest

from api.dose import exposure
from api.dose.hazard import distances, eyewear, limits
from api.dose.hazard.evaluate import respond
from api.dose.hazard.train import SINGLE, WHOLE, pulse_limits_j_m2
from api.errors import BadInput

VECTORS = json.loads(
    (Path(__file__).parents[1] / "vectors" / "hazard.json").read_text(encoding="utf-8")
)
CASES = {case["id"]: case for case in VECTORS["cases"]}


def irradiance(power_w: float, diameter_m: float) -> float:
    return exposure.irradiance_mean_w_m2(power_w=power_w, spot_diameter_m=diameter_m)


def graded(given: dict) -> dict:
    """The answer for a case of EN 207, through a request."""
    factor = str(given.get("beam_size_factor", "")).startswith("glass")
    pulsed = "pulse_energy_J" in given
    emission = (
        {
            "pulse_energy": f"{given['pulse_energy_J']} J",
            "pulse_duration": f"{given['pulse_s']} s",
            "repetition_rate": f"{given['prf_Hz']} Hz",
        }
        if pulsed
        else {"power": f"{given.get('power_W', given.get('power_avg_W'))} W"}
    )
    window = {"accumulation_window": "5 s"} if pulsed else {}
    return respond(
        {
            "wavelength": f"{given['wavelength_nm']} nm",
            "exposure_time": "10 s",
            "emission": emission,
            "beam": {
                "diameter": f"{given.get('d63_mm', given.get('diameter_mm'))} mm",
                "diameter_definition": "63 %",
            },
            "eyewear": {"material": "glass", "beam_size_factor": factor, **window},
        }
    )["results"]


def smallest_diameter_mm(given: dict) -> float:
    """Where the grade changes, found by halving: the engine itself has no inverse."""
    low_m, high_m = 1e-3, 1.0
    for _ in range(200):
        middle_m = (low_m + high_m) / 2
        load = given["beam_size_factor"] * irradiance(given["power_W"], middle_m)
        grade = eyewear.grade_continuous(
            irradiance_w_m2=load, wavelength_m=given["wavelength_nm"] * 1e-9
        )
        if grade is not None and grade <= given["LB"]:
            high_m = middle_m
        else:
            low_m = middle_m
    return high_m * 1000


def density(given: dict) -> float:
    if "laser" in given or "aperture_mm" in given:
        request = {
            "wavelength": f"{given['wavelength_nm']} nm",
            "exposure_time": f"{given['t_s']} s",
            "emission": {"power": f"{given['power_W']} W"},
        }
        return respond(request)["results"]["optical_density"]["value"]
    if "w_cm" in given:  # the peak of a Gaussian over a limit that is given
        peak = exposure.irradiance_peak_w_m2(
            power_w=given["power_W"], spot_diameter_m=2 * given["w_cm"] / 100
        )
        return eyewear.optical_density(exposure_over_limit=peak / (given["mpe_W_cm2"] * 1e4))
    over = given.get("exposure_W_cm2", given.get("exposure_J_cm2"))
    for name, size in (("mpe_mW_cm2", 1e-3), ("implied_mpe_W_cm2", 1.0), ("mpe_J_cm2", 1.0)):
        if name in given:
            return eyewear.optical_density(exposure_over_limit=over / (given[name] * size))
    raise AssertionError("no limit in this case")


def at(given: dict, target: str) -> dict:
    nanometres = str(given["wavelength_nm"]).split()[0].split("-")[0]
    return {
        # The lowest of a band stands for it, but 10600 nm where the band begins lower.
        "wavelength_m": float(nanometres) * 1e-9,
        "exposure_time_s": float(given["t_s"]),
        "target": target,
    }


def limit(case: dict) -> float:
    place = at(case["inputs"], "eye")
    unit = (case["published"] or case["recomputed"])["unit"]
    if unit == "J/m2":
        return limits.limit_fluence_j_m2(**place)
    per_unit = 1e-4 if unit == "W/cm2" else 1.0
    return limits.limit_irradiance_w_m2(**place) * per_unit


def both_limits(case: dict) -> float:
    unit = case["recomputed"]["unit"]
    function = limits.limit_fluence_j_m2 if unit == "J/m2" else limits.limit_irradiance_w_m2
    found = set()
    for nanometres in (2600, 2780, 2940, 9300, 9600, 10600, 1_000_000):
        for target in ("eye", "skin"):
            place = {"wavelength_m": nanometres * 1e-9, "target": target}
            found.add(function(**place, exposure_time_s=float(case["inputs"]["t_s"])))
    assert len(found) == 1
    return found.pop()


def pulse_limit(given: dict) -> float:
    found = pulse_limits_j_m2(
        wavelength_m=given["wavelength_nm"] * 1e-9,
        pulse_duration_s=given["pulse_s"],
        repetition_rate_hz=given["prf_Hz"],
        exposure_time_s=given["T_s"],
        target="eye",
        edition="ICNIRP 2013",
    )
    assert set(found) == {SINGLE, WHOLE}
    return min(found.values())


def diffuse(given: dict) -> float:
    # "isotropic into a half sphere" is P / (2 pi r^2): half of a Lambertian surface on its axis.
    half = 0.5 if "model" in given else 1.0
    return distances.diffuse_distance_m(
        hazard_area_m2=half * given["power_W"] / given["mpe_W_m2"],
        reflectance=given.get("rho", 1),
        angle_rad=math.radians(given.get("theta_deg", 0)),
    )


def lens(given: dict) -> float:
    return distances.lens_distance_m(
        hazard_area_m2=given["power_W"] / given["mpe_W_m2"],
        focal_length_m=given.get("focal_length_m", given.get("focal_m")),
        beam_diameter_at_lens_m=given.get("d63_at_lens_m", given.get("beam_at_lens_m")),
    )


def direct(given: dict) -> float:
    return distances.direct_distance_m(
        hazard_area_m2=given["power_W"] / given["mpe_W_m2"],
        beam_diameter_m=given["aperture_m"],
        full_divergence_rad=given["divergence_rad"],
    )


def tip(given: dict) -> float:
    return distances.tip_distance_m(
        hazard_area_m2=given["power_W"] / given["mpe_W_m2"],
        tip_diameter_m=given["tip_mm_1e2"] * 1e-3,
        full_divergence_rad=math.radians(given["full_divergence_1e2_deg"]),
    )


def plain_irradiance(case: dict) -> float:
    given = case["inputs"]
    diameter_m = given.get("diameter_mm", 10 * given.get("diameter_cm", 0)) * 1e-3
    per_unit = 1e-4 if case["published"]["unit"] == "W/cm2" else 1.0
    return irradiance(given["power_W"], diameter_m) * per_unit


def in_aperture(case: dict) -> float:
    given = case["inputs"]
    diameter_m = given.get("aperture_mm", given.get("diameter_mm")) * 1e-3
    per_unit = 1e-4 if case["published"]["unit"] == "W/cm2" else 1.0
    return irradiance(given["power_W"], diameter_m) * per_unit


def corrected(given: dict) -> float:
    fluence = exposure.fluence_mean_j_m2(
        pulse_energy_j=given["pulse_energy_J"], spot_diameter_m=given["diameter_mm"] * 1e-3
    )
    return fluence * eyewear.accumulation_factor(
        repetition_rate_hz=given["prf_Hz"], window_s=given["window_s"]
    )


def peak_density(given: dict) -> float:
    peak_w = given["power_avg_W"] / given["prf_Hz"] / given["pulse_s"]
    return irradiance(peak_w, given["diameter_mm"] * 1e-3)


def in_pupil_mw(given: dict) -> float:
    place = at(given, "eye")
    area_m2 = math.pi / 4 * limits.limiting_aperture_m(**place) ** 2
    return limits.limit_irradiance_w_m2(**place) * area_m2 * 1000


def simplified(case: dict) -> float:
    place = at(case["inputs"], "eye") | {"wavelength_m": 10.6e-6}
    if case["published"]["unit"] == "W/m2":
        return limits.limit_irradiance_w_m2(**place)
    return limits.limit_fluence_j_m2(**place)


def continuous_grade(case: dict) -> float:
    given = case["inputs"]
    if case["published"]["unit"] == "log10 value":
        load = irradiance(given["power_W"], given["diameter_mm"] * 1e-3)
        assert graded(given)["en207_d"]["value"] == 4  # as the source rounds it up
        return math.log10(load) - 1
    return graded(given)["en207_d"]["value"]


ANSWERS = {
    "en207_D": continuous_grade,
    "en207_IR": lambda case: graded(case["inputs"])["en207_ir"]["value"],
    "en207_dmin": lambda case: smallest_diameter_mm(case["inputs"]),
    "en207_corrected_exposure": lambda case: corrected(case["inputs"]),
    "od": lambda case: density(case["inputs"]),
    "mpe_eye": limit,
    "mpe_eye_and_skin": both_limits,
    "mpe_eye_simplified": simplified,
    "mpe_eye_repetitive": lambda case: pulse_limit(case["inputs"]),
    "diffuse_nhz": lambda case: diffuse(case["inputs"]),
    "lens_on_laser_nhz": lambda case: lens(case["inputs"]),
    "nohd": lambda case: direct(case["inputs"]),
    "waveguide_exit_nhz": lambda case: tip(case["inputs"]),
    "irradiance": plain_irradiance,
    "irradiance_in_aperture": in_aperture,
    "peak_power_density": lambda case: peak_density(case["inputs"]),
    "power_in_pupil": lambda case: in_pupil_mw(case["inputs"]),
}
# Printed with a limit of an older edition that is not offered; see the test below.
OLD_LIMIT = "flb-od-yag-100ps"


def allowed(value: float, tolerance: dict, *, rounded: bool) -> float:
    """How far off a value may be; one that was written down rounded, by half its last digit."""
    most = tolerance["value"] * (value if tolerance["type"] == "rel" else 1)
    if not rounded:
        return most
    return max(most, 0.5 * 10.0 ** Decimal(repr(value)).as_tuple().exponent)


@pytest.mark.parametrize("name", sorted(set(CASES) - {OLD_LIMIT}))
def test_printed_values(name: str) -> None:
    case = CASES[name]
    ours = ANSWERS[case["kind"]](case)
    if case["reproduces"] is False:
        assert ours == case["recomputed"]["value"]
        assert ours != case["published"]["value"], case["note"]
        return
    outside = case["published"] or case["recomputed"]
    most = allowed(outside["value"], case["tolerance"], rounded=case["published"] is None)
    assert abs(ours - outside["value"]) <= most, (ours, outside)


def test_a_limit_of_an_older_edition_is_not_ours() -> None:
    """Its own note: by the tables of 2013 the density is 6.80, not the 7.1 printed."""
    given = CASES[OLD_LIMIT]["inputs"]
    limit_j_m2 = limits.limit_fluence_j_m2(
        wavelength_m=1064e-9, exposure_time_s=given["pulse_s"], target="eye"
    )
    over = given["exposure_J_cm2"] * 1e4 / limit_j_m2
    assert eyewear.optical_density(exposure_over_limit=over) == pytest.approx(6.80, abs=0.005)


def test_what_is_not_offered_is_named() -> None:
    assert {one["kind"] for one in VECTORS["not_offered"]}.isdisjoint(ANSWERS)
    assert all(one["why"] for one in VECTORS["not_offered"])


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


@pytest.mark.parametrize(
    ("power", "name"),
    [("0.38 mW", "1"), ("0.4 mW", "2"), ("1 mW", "2"), ("3 mW", "3R"), ("5.1 mW", "3B"),
     ("0.51 W", "4")],
)  # fmt: skip
def test_class_of_an_aiming_beam(power: str, name: str) -> None:
    red = {"wavelength": "650 nm", "exposure_time": "0.25 s", "emission": {"power": power}}
    assert respond(red)["results"]["aiming_beam_class"]["value"] == name


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
