"""What the hazard engine answers to each printed case, by the kind of the case.

Each case names its source in ``tests/vectors/hazard.json``. ``pwa/tests/dose/hazard.test.ts``
asks the tablet's engine the same.
"""

import json
import math
from pathlib import Path

from api.dose import exposure
from api.dose.hazard import distances, eyewear, limits
from api.dose.hazard.evaluate import respond
from api.dose.hazard.train import ADDING_UP, SINGLE, WHOLE, pulse_limits_j_m2

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
        "edition": given.get("edition", "ICNIRP 2013"),
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
        edition=given.get("edition", "ICNIRP 2013"),
    )
    assert set(found) == {SINGLE, WHOLE} | ({ADDING_UP} if "edition" in given else set())
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


def aperture_mm(given: dict) -> float:
    return limits.limiting_aperture_m(**at(given, "eye")) * 1000


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
    "limiting_aperture": lambda case: aperture_mm(case["inputs"]),
    "power_in_pupil": lambda case: in_pupil_mw(case["inputs"]),
}
