"""Answer a hazard request: limits, distances, eyewear, and what cannot be said and why."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from math import pi

from api.dose.constants import ENGINE_VERSION
from api.dose.exposure import fluence_mean_j_m2, irradiance_mean_w_m2
from api.dose.hazard import distances, eyewear, limits
from api.dose.hazard.constants import number, table
from api.dose.hazard.notes import notes
from api.dose.hazard.request import HazardInput, parse
from api.dose.hazard.train import pulse_limits_j_m2

NO_LIMIT = "no limit is offered for this wavelength and time"
NO_BLUE = "below 600 nm and beyond 10 s the blue-light limit applies, which is not offered"
NO_SHORT_RETINAL = "below 1 ns edition 2006/25/EC offers no limit for the retina"
NO_APERTURE = "beyond 100 um no aperture for the eye is offered"
NEEDS_BEAM = "needs beam.full_divergence"
NEEDS_LENS = "needs lens"
NEEDS_TIP = "needs tip"
NOT_AVERAGE = "a single pulse has no average power"
NOT_PULSED = "the power is not given as pulses"
NOT_GRADED = "grades are given for pulses of 1 ns to 0.25 s"
ABOVE_GRADES = "above the highest grade, LB10"
NOT_VISIBLE = "classes are given for continuous beams of 400 to 700 nm"


class Unsaid(Exception):
    """A result that cannot be given; its text says why."""


@dataclass(frozen=True)
class Result:
    """A value in SI units, and the function that gave it."""

    value: object
    function: Callable
    rule: str | None = None


def _must_be_offered(given: HazardInput, place: dict[str, object]) -> None:
    """Raise Unsaid where the edition offers no limit there."""
    if limits.offered(**place, edition=given.edition):
        return
    if limits.is_blue_light(**place):
        raise Unsaid(NO_BLUE)
    if limits.is_too_short_for_edition(**place, edition=given.edition):
        raise Unsaid(NO_SHORT_RETINAL)
    raise Unsaid(NO_LIMIT)


def _limit(given: HazardInput, target: str) -> tuple[float, float, str | None]:
    """Return irradiance [W/m2] and radiant exposure [J/m2] that decide, and the deciding rule.

    For a train the radiant exposure is that of one pulse.
    """
    whole = {
        "wavelength_m": given.wavelength_m,
        "exposure_time_s": given.exposure_time_s,
        "target": target,
    }
    _must_be_offered(given, whole)
    irradiance = limits.limit_irradiance_w_m2(**whole, edition=given.edition)
    fluence, rule = limits.limit_fluence_j_m2(**whole, edition=given.edition), None
    if _large_area(given, target):
        irradiance = limits.large_area_irradiance_w_m2(exposed_area_m2=given.exposed_area_m2)
        fluence = irradiance * given.exposure_time_s
    if given.is_train:
        _must_be_offered(given, {**whole, "exposure_time_s": given.pulse_duration_s})
        rules = pulse_limits_j_m2(
            **whole,
            pulse_duration_s=given.pulse_duration_s,
            repetition_rate_hz=given.repetition_rate_hz,
            edition=given.edition,
        )
        rule = min(rules, key=lambda name: rules[name])
        fluence = min(rules[rule], fluence)
    return irradiance, fluence, rule


def _large_area(given: HazardInput, target: str) -> bool:
    return (
        target == limits.SKIN
        and given.exposed_area_m2 is not None
        and given.exposure_time_s > number("LONG_FROM")
        and given.wavelength_m >= number("RETINAL_TO")
    )


def hazard_area_m2(given: HazardInput, target: str) -> float:
    """Return the area [m2] over which the beam must have spread to be at its limit.

    Of a train both its average power and its pulses count, and the stricter decides. Raises
    Unsaid where no limit is offered.
    """
    irradiance, fluence, _ = _limit(given, target)
    areas = []
    if given.average_power_w is not None:
        areas.append(given.average_power_w / irradiance)
    if given.pulse_energy_j is not None:
        areas.append(given.pulse_energy_j / fluence)
    return max(areas)


def _limit_irradiance(given: HazardInput) -> Result:
    function = (
        limits.large_area_irradiance_w_m2
        if _large_area(given, given.target)
        else limits.limit_irradiance_w_m2
    )
    return Result(_limit(given, given.target)[0], function)


def _limit_fluence(given: HazardInput) -> Result:
    _, fluence, rule = _limit(given, given.target)
    return Result(fluence, pulse_limits_j_m2 if rule else limits.limit_fluence_j_m2, rule)


def _aperture_m(given: HazardInput) -> float:
    try:
        return limits.limiting_aperture_m(
            wavelength_m=given.wavelength_m,
            exposure_time_s=given.exposure_time_s,
            target=given.target,
            edition=given.edition,
        )
    except KeyError:
        raise Unsaid(NO_APERTURE) from None


def _aperture(given: HazardInput) -> Result:
    return Result(_aperture_m(given), limits.limiting_aperture_m)


def _direct(given: HazardInput, target: str) -> Result:
    if given.beam_divergence_rad is None:
        raise Unsaid(NEEDS_BEAM)
    return Result(
        distances.direct_distance_m(
            hazard_area_m2=hazard_area_m2(given, target),
            beam_diameter_m=given.beam_diameter_m,
            full_divergence_rad=given.beam_divergence_rad,
        ),
        distances.direct_distance_m,
    )


def _lens(given: HazardInput) -> Result:
    if given.lens_focal_length_m is None or given.lens_beam_diameter_m is None:
        raise Unsaid(NEEDS_LENS)
    return Result(
        distances.lens_distance_m(
            hazard_area_m2=hazard_area_m2(given, given.target),
            focal_length_m=given.lens_focal_length_m,
            beam_diameter_at_lens_m=given.lens_beam_diameter_m,
        ),
        distances.lens_distance_m,
    )


def _tip(given: HazardInput) -> Result:
    if given.tip_diameter_m is None or given.tip_divergence_rad is None:
        raise Unsaid(NEEDS_TIP)
    return Result(
        distances.tip_distance_m(
            hazard_area_m2=hazard_area_m2(given, given.target),
            tip_diameter_m=given.tip_diameter_m,
            full_divergence_rad=given.tip_divergence_rad,
        ),
        distances.tip_distance_m,
    )


def _diffuse(given: HazardInput) -> Result:
    return Result(
        distances.diffuse_distance_m(
            hazard_area_m2=hazard_area_m2(given, given.target),
            reflectance=given.reflectance,
            angle_rad=given.reflection_angle_rad,
        ),
        distances.diffuse_distance_m,
    )


def _density(given: HazardInput) -> Result:
    _aperture_m(given)
    diameter_m = limits.averaged_diameter_m(
        beam_diameter_m=given.beam_diameter_m,
        wavelength_m=given.wavelength_m,
        exposure_time_s=given.exposure_time_s,
        target=given.target,
        edition=given.edition,
    )
    over = hazard_area_m2(given, given.target) / (pi / 4 * diameter_m**2)
    return Result(eyewear.optical_density(exposure_over_limit=over), eyewear.optical_density)


def _graded_diameter_m(given: HazardInput) -> float:
    return given.beam_diameter_m or _aperture_m(given)


def _size_factor(given: HazardInput) -> float:
    if not given.with_beam_size_factor:
        return 1.0
    return eyewear.beam_size_factor(
        beam_diameter_m=_graded_diameter_m(given), material=given.material
    )


def _graded(grade: int | None, function: Callable) -> Result:
    if grade is None:
        raise Unsaid(ABOVE_GRADES)
    return Result(grade, function)


def _grade_d(given: HazardInput) -> Result:
    if given.average_power_w is None:
        raise Unsaid(NOT_AVERAGE)
    load = _size_factor(given) * irradiance_mean_w_m2(
        power_w=given.average_power_w, spot_diameter_m=_graded_diameter_m(given)
    )
    grade = eyewear.grade_continuous(irradiance_w_m2=load, wavelength_m=given.wavelength_m)
    return _graded(grade, eyewear.grade_continuous)


def _grade_ir(given: HazardInput) -> Result:
    if given.pulse_energy_j is None or given.pulse_duration_s is None:
        raise Unsaid(NOT_PULSED)
    shortest_s, longest_s = number("EN207_PULSE_LEAST"), number("EN207_PULSE_MOST")
    if not shortest_s <= given.pulse_duration_s <= longest_s:
        raise Unsaid(NOT_GRADED)
    load = _size_factor(given) * fluence_mean_j_m2(
        pulse_energy_j=given.pulse_energy_j, spot_diameter_m=_graded_diameter_m(given)
    )
    if given.repetition_rate_hz is not None and given.accumulation_window_s is not None:
        load *= eyewear.accumulation_factor(
            repetition_rate_hz=given.repetition_rate_hz, window_s=given.accumulation_window_s
        )
    grade = eyewear.grade_pulsed(fluence_j_m2=load, wavelength_m=given.wavelength_m)
    return _graded(grade, eyewear.grade_pulsed)


def _class(given: HazardInput) -> Result:
    if given.power_w is None or given.wavelength_m > number("VISIBLE_TO"):
        raise Unsaid(NOT_VISIBLE)
    name = eyewear.visible_class(power_w=given.power_w, wavelength_m=given.wavelength_m)
    return Result(name, eyewear.visible_class)


_RESULTS: Mapping[str, Callable[[HazardInput], Result]] = {
    "exposure_limit_irradiance": _limit_irradiance,
    "exposure_limit_fluence": _limit_fluence,
    "limiting_aperture": _aperture,
    "direct_distance": lambda given: _direct(given, given.target),
    "lens_distance": _lens,
    "tip_distance": _tip,
    "diffuse_distance": _diffuse,
    "skin_distance": lambda given: _direct(given, limits.SKIN),
    "optical_density": _density,
    "en207_d": _grade_d,
    "en207_ir": _grade_ir,
    "aiming_beam_class": _class,
}


def _as_answer(name: str, result: Result) -> dict[str, object]:
    entry = table()["results"][name]
    value = result.value
    if isinstance(value, float):
        value *= entry["per_si"]
    answer = {
        "value": value,
        "unit": entry["unit"],
        "formula": f"{result.function.__module__}.{result.function.__name__}",
        "sources": list(entry["sources"]),
    }
    return answer if result.rule is None else {**answer, "rule": result.rule}


def evaluate(given: HazardInput) -> dict[str, object]:
    """Return the response of the contract for a parsed request."""
    results, absent = {}, {}
    for name, work_out in _RESULTS.items():
        try:
            results[name] = _as_answer(name, work_out(given))
        except Unsaid as reason:
            absent[name] = str(reason)
    return {
        "engine": ENGINE_VERSION,
        "edition": given.edition,
        "results": results,
        "absent": absent,
        "warnings": notes(given, results),
    }


def respond(request: Mapping[str, object]) -> dict[str, object]:
    """Return the response of the contract for a request as JSON carries it.

    Raises BadInput (code ``bad_request``) with what is wrong by field path.
    """
    return evaluate(parse(request))
