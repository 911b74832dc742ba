"""How strong eyewear has to be, and which class a visible beam is of."""

from math import ceil, log10

from api.dose.hazard.constants import number

GLASS, PLASTIC = "glass", "plastic"


def optical_density(*, exposure_over_limit: float) -> float:
    """Return the optical density that brings an exposure down to its limit.

    Parameters:
        exposure_over_limit [1]: how many times the limit
    Returns: density [1], never below 0
    Raises: nothing
    Valid for: any exposure above 0
    Equation: log10(exposure / limit)
    Not covered: burn-through: density says nothing of how long a filter lasts
    Source: `definition`
    """
    return max(0.0, log10(exposure_over_limit))


def beam_size_factor(*, beam_diameter_m: float, material: str) -> float:
    """Return by how much a large beam is harder on a filter than its irradiance says.

    Parameters:
        beam_diameter_m [m]: 63 %
        material [text]: glass or plastic
    Returns: factor [1]
    Raises: nothing
    Valid for: glass and plastic filters, as one edition of the standard has it
    Equation: d^1.7 (glass) or d^1.1693 (plastic) with d in mm, from 1 mm to 15 mm, then constant
    Not covered: coated filters
    Source: `en207`, from memory; a published table in the checks was built with it
    """
    exponent = number("EN207_GLASS_EXPONENT" if material == GLASS else "EN207_PLASTIC_EXPONENT")
    millimetres = beam_diameter_m * 1000
    within = min(max(millimetres, number("EN207_BEAM_LEAST")), number("EN207_BEAM_MOST"))
    return within**exponent


def grade_continuous(*, irradiance_w_m2: float, wavelength_m: float) -> int | None:
    """Return the protection grade against a continuous beam (D), or None above the highest.

    Parameters:
        irradiance_w_m2 [W/m2]: beam-size factor included
        wavelength_m [m]: of the light
    Returns: n of LBn [1], at least 1
    Raises: nothing
    Valid for: 315 nm to 1 mm, exposures longer than 0.25 s
    Equation: 10^(n + 1) W/m2 up to 1400 nm, 10^(n + 3) W/m2 beyond; n rounded up
    Not covered: shorter waves
    Source: `en207`, read in guides that reprint its table
    """
    beyond = wavelength_m > number("EN207_LONG_FROM")
    exponent = number("EN207_D_LONG_EXPONENT" if beyond else "EN207_D_SHORT_EXPONENT")
    return _grade(irradiance_w_m2, exponent)


def grade_pulsed(*, fluence_j_m2: float, wavelength_m: float) -> int | None:
    """Return the protection grade against pulses of 1 ns to 0.25 s (I, R), or None above it.

    Parameters:
        fluence_j_m2 [J/m2]: beam-size factor and accumulation included
        wavelength_m [m]: of the light
    Returns: n of LBn [1], at least 1
    Raises: nothing
    Valid for: 315 nm to 1 mm, pulses of 1 ns to 0.25 s
    Equation: 5 x 10^(n - 3) J/m2 up to 1400 nm, 10^(n + 2) J/m2 beyond; n rounded up
    Not covered: pulses below 1 ns (M)
    Source: `en207`, read in guides that reprint its table
    """
    if wavelength_m > number("EN207_LONG_FROM"):
        return _grade(fluence_j_m2, number("EN207_IR_LONG_EXPONENT"))
    load = fluence_j_m2 / number("EN207_IR_SHORT_COEFFICIENT")
    return _grade(load, -number("EN207_IR_SHORT_EXPONENT"))


def _grade(load: float, exponent: float) -> int | None:
    grade = max(1, ceil(log10(load) - exponent))
    return grade if grade <= number("EN207_GRADES") else None


def accumulation_factor(*, repetition_rate_hz: float, window_s: float) -> float:
    """Return by how much a train is harder on a filter than one of its pulses.

    Parameters:
        repetition_rate_hz [Hz]: of the pulses
        window_s [s]: 5 or 10 by edition
    Returns: factor [1], at least 1
    Raises: nothing
    Valid for: trains of equal pulses
    Equation: N^0.25 with N = f window
    Not covered: the cap on the rate that later guides allow, which would make it smaller
    Source: `en207`, read in guides
    """
    pulses = max(1.0, repetition_rate_hz * window_s)
    return pulses ** number("EN207_ACCUMULATION_EXPONENT")


def visible_class(*, power_w: float, wavelength_m: float) -> str:
    """Return the class of a continuous visible beam: 1, 2, 3R, 3B or 4.

    ``power_w`` [W] is what passes an aperture of 7 mm. The limits are 0.39 mW, 1 mW, 5 mW and
    0.5 W (`iec60825`, from memory), for a small source of 400 nm to 700 nm. Below 500 nm the limit
    of class 1 is lower, so that class 1 is not given there. What else the class of a product
    depends on is not covered: the maker's label decides.
    """
    steps = (("1", "CLASS_1_POWER"), ("2", "CLASS_2_POWER"), ("3R", "CLASS_3R_POWER"),
             ("3B", "CLASS_3B_POWER"))  # fmt: skip
    for name, limit in steps:
        if name == "1" and wavelength_m < number("CLASS_1_FROM"):
            continue
        if power_w <= number(limit):
            return name
    return "4"
