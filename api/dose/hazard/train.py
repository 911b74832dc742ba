"""What one pulse of a train may carry: alone, as a part of the whole, and for adding up."""

from api.dose.hazard.constants import number
from api.dose.hazard.editions import EU_2006
from api.dose.hazard.limits import is_retinal, is_thermal, limit_fluence_j_m2

SINGLE, WHOLE, ADDING_UP = "single pulse", "whole exposure", "adding up"


def pulse_limits_j_m2(
    *,
    wavelength_m: float,
    pulse_duration_s: float,
    repetition_rate_hz: float,
    exposure_time_s: float,
    target: str,
    edition: str,
) -> dict[str, float]:
    """Return, rule by rule, what one pulse of a train may carry.

    Parameters:
        wavelength_m [m]: of the light
        pulse_duration_s [s]: of one pulse
        repetition_rate_hz [Hz]: of the pulses
        exposure_time_s [s]: of the whole train
        target [text]: eye or skin
        edition [text]: which limits are followed
    Returns: limits of one pulse by rule [J/m2]; the smallest decides
    Raises: KeyError where no limit is offered
    Valid for: equal pulses at a steady rate
    Equation: H(pulse); H(exposure) / N; H(pulse) N^-0.25 for retinal thermal limits, in edition
        2006/25/EC for every limit; N = rate x time, at least 1. In that edition the n pulses
        on the retina within 18 us, from 1050 nm 50 us, count as one as well: H(those) / n
        (N / n)^-0.25
    Not covered: the allowances of later editions for small sources, which are less strict; in
        edition 2006/25/EC beyond 1400 nm the pulses taken as one, for which the whole exposure
        is stricter (from 1500 to 1800 nm up to 10 s)
    Source: `icnirp2013`, from memory, and `directive2006` for its edition, which speaks of thermal
        limits and leaves open whether those of short pulses are any: the stricter reading
    """
    pulses = max(1.0, repetition_rate_hz * exposure_time_s)
    of_pulse = {
        "wavelength_m": wavelength_m, "exposure_time_s": pulse_duration_s, "target": target,
    }  # fmt: skip
    single = limit_fluence_j_m2(**of_pulse, edition=edition)
    whole = limit_fluence_j_m2(
        wavelength_m=wavelength_m,
        exposure_time_s=exposure_time_s,
        target=target,
        edition=edition,
    )
    found = {SINGLE: single, WHOLE: whole / pulses}
    retinal, directive = is_retinal(wavelength_m=wavelength_m, target=target), edition == EU_2006
    # The directive lets short pulses add up too, which ICNIRP 2013 no longer does.
    if directive or (retinal and is_thermal(**of_pulse)):
        found[ADDING_UP] = single * pulses ** -number("ADDING_UP_EXPONENT")
    if directive and retinal:
        group_s = min(_taken_as_one_s(wavelength_m), exposure_time_s)
        together = repetition_rate_hz * group_s
        if together > 1:
            group = limit_fluence_j_m2(
                wavelength_m=wavelength_m, exposure_time_s=group_s, target=target, edition=edition
            )
            groups = pulses / together
            of_groups = group / together * groups ** -number("ADDING_UP_EXPONENT")
            found[ADDING_UP] = min(found[ADDING_UP], of_groups)
    return found


def _taken_as_one_s(wavelength_m: float) -> float:
    """Return the time [s] within which the directive takes pulses on the retina as one."""
    if wavelength_m * 1e9 < number("C_A_FLAT_FROM"):
        return number("RETINAL_2006_SHORT_UNTIL")
    return number("RETINAL_2006_LONG_UNTIL")
