"""Exposure limits of eye and skin, and the apertures over which an exposure is averaged.

The limits protect people in the room. They do not apply to the tissue that is being treated.
"""

from collections.abc import Mapping
from math import isfinite

from api.dose.hazard.constants import number, table
from api.dose.hazard.editions import EU_2006, ICNIRP_2013, short_retinal_j_m2

EYE, SKIN = "eye", "skin"
TARGETS = (EYE, SKIN)


def c_a(*, wavelength_m: float) -> float:
    """Return the correction for less absorption in the retina's pigment.

    Parameters:
        wavelength_m [m]: of the light
    Returns: C_A [1]
    Raises: nothing
    Valid for: 400 nm to 1400 nm
    Equation: 1 up to 700 nm, 10^(0.002 (nm - 700)) up to 1050 nm, then 5
    Not covered: other wavelengths
    Source: `icnirp2013`, read in transcriptions
    """
    nanometres = wavelength_m * 1e9
    if nanometres <= number("C_A_FLAT_TO"):
        return 1.0
    if nanometres >= number("C_A_FLAT_FROM"):
        return number("C_A_MOST")
    return 10 ** (number("C_A_GROWTH") * (nanometres - number("C_A_FLAT_TO")))


def c_c(*, wavelength_m: float, edition: str = ICNIRP_2013) -> float:
    """Return the correction for absorption before the retina.

    Parameters:
        wavelength_m [m]: of the light
        edition [text]: which limits are followed
    Returns: C_C [1]
    Raises: nothing
    Valid for: 1050 nm to 1400 nm
    Equation: 1 up to 1150 nm, 10^(0.018 (nm - 1150)) up to 1200 nm, then 8 + 10^(0.04 (nm - 1250)),
        in edition 2006/25/EC 8
    Not covered: other wavelengths
    Source: `icnirp2013`, and `directive2006` for its edition; both read in transcriptions
    """
    nanometres = wavelength_m * 1e9
    if nanometres <= number("C_C_FLAT_TO"):
        return 1.0
    if nanometres < number("C_C_LATER_FROM"):
        return 10 ** (number("C_C_GROWTH") * (nanometres - number("C_C_FLAT_TO")))
    if edition == EU_2006:
        return number("C_C_2006_LATER")
    growing = 10 ** (number("C_C_LATER_GROWTH") * (nanometres - number("C_C_LATER_ZERO")))
    return number("C_C_LATER_LEAST") + growing


def _row(wavelength_m: float, exposure_time_s: float, target: str) -> Mapping | None:
    """Return the row of the table; the last time and the longest wave belong to their rows."""
    rows = table()["limits"][target]
    longest_m, longest_s = max(row["to_m"] for row in rows), max(row["to_s"] for row in rows)
    for row in rows:
        in_band = row["from_m"] <= wavelength_m and (
            wavelength_m < row["to_m"] or row["to_m"] == longest_m
        )
        in_time = row["from_s"] <= exposure_time_s and (
            exposure_time_s < row["to_s"] or row["to_s"] == longest_s == exposure_time_s
        )
        if in_band and in_time:
            return row
    return None


def is_blue_light(*, wavelength_m: float, exposure_time_s: float, target: str) -> bool:
    """Return whether the limit for blue light would apply, which is not offered."""
    return (
        target == EYE
        and wavelength_m < number("BLUE_LIGHT_BELOW")
        and exposure_time_s > number("LONG_FROM")
    )


def is_too_short_for_edition(
    *, wavelength_m: float, exposure_time_s: float, target: str, edition: str
) -> bool:
    """Return whether the directive's row below 1 ns would apply, which is not offered."""
    return (
        edition == EU_2006
        and is_retinal(wavelength_m=wavelength_m, target=target)
        and exposure_time_s < number("RETINAL_2006_FROM")
    )


def offered(
    *, wavelength_m: float, exposure_time_s: float, target: str, edition: str = ICNIRP_2013
) -> bool:
    """Return whether a limit is offered: not for too short pulses, nor for long blue light."""
    place = {"wavelength_m": wavelength_m, "exposure_time_s": exposure_time_s, "target": target}
    if is_blue_light(**place) or is_too_short_for_edition(**place, edition=edition):
        return False
    return _row(**place) is not None


def is_thermal(*, wavelength_m: float, exposure_time_s: float, target: str) -> bool:
    """Return whether the limit of one pulse of this length is a thermal one."""
    row = _row(wavelength_m, exposure_time_s, target)
    return row is not None and row["thermal"]


def is_retinal(*, wavelength_m: float, target: str) -> bool:
    """Return whether what is protected is the retina."""
    return target == EYE and wavelength_m < number("RETINAL_TO")


def is_stricter_than_directive(
    *, wavelength_m: float, exposure_time_s: float, target: str, edition: str
) -> bool:
    """Return whether the edition keeps a limit below that of the directive's own row."""
    place = {"wavelength_m": wavelength_m, "exposure_time_s": exposure_time_s}
    if edition != EU_2006 or not is_retinal(wavelength_m=wavelength_m, target=target):
        return False
    own, row = short_retinal_j_m2(**place), _row(**place, target=target)
    if row is None or not isfinite(own):
        return False
    return row["coefficient"] * exposure_time_s ** row["exponent"] < own


def limit_fluence_j_m2(
    *, wavelength_m: float, exposure_time_s: float, target: str, edition: str = ICNIRP_2013
) -> float:
    """Return the radiant exposure that one exposure of this length must not exceed.

    Parameters:
        wavelength_m [m]: of the light
        exposure_time_s [s]: of one pulse, or of a continuous exposure
        target [text]: eye or skin
        edition [text]: which limits are followed
    Returns: limit [J/m2]
    Raises: KeyError where no limit is offered
    Valid for: 400 nm to 1 mm; small sources for the retina; 10 ps (retina, ICNIRP 2013) or 1 ns to
        30000 s
    Equation: by band, coefficient x correction x t^exponent, or irradiance x t; in edition
        2006/25/EC no more than the directive's own row for short exposures of the retina
    Not covered: extended sources; blue light below 600 nm beyond 10 s; pulses below 1 ns at long
        waves, and in edition 2006/25/EC at any
    Source: `icnirp2013`, and `directive2006` for its edition; both read in transcriptions
    """
    place = {"wavelength_m": wavelength_m, "exposure_time_s": exposure_time_s, "target": target}
    row = _row(**place)
    if row is None or is_too_short_for_edition(**place, edition=edition):
        raise KeyError("no limit is offered")
    factor = 1.0
    if row["factor"] == "C_A":
        factor = c_a(wavelength_m=wavelength_m)
    elif row["factor"] == "C_C":
        factor = c_c(wavelength_m=wavelength_m, edition=edition)
    limit = row["coefficient"] * factor
    if row["kind"] == "irradiance":
        return limit * exposure_time_s
    limit *= exposure_time_s ** row["exponent"]
    if edition == EU_2006 and is_retinal(wavelength_m=wavelength_m, target=target):
        own = short_retinal_j_m2(wavelength_m=wavelength_m, exposure_time_s=exposure_time_s)
        return min(limit, own * factor)
    return limit


def limit_irradiance_w_m2(
    *, wavelength_m: float, exposure_time_s: float, target: str, edition: str = ICNIRP_2013
) -> float:
    """Return the mean irradiance that one exposure of this length must not exceed.

    Parameters:
        wavelength_m [m]: of the light
        exposure_time_s [s]: how long the exposure lasts
        target [text]: eye or skin
        edition [text]: which limits are followed
    Returns: limit [W/m2]
    Raises: KeyError where no limit is offered
    Valid for: as ``limit_fluence_j_m2``
    Equation: E = H / t
    Not covered: as ``limit_fluence_j_m2``
    Source: `icnirp2013`, and `directive2006` for its edition; both read in transcriptions
    """
    limit_j_m2 = limit_fluence_j_m2(
        wavelength_m=wavelength_m,
        exposure_time_s=exposure_time_s,
        target=target,
        edition=edition,
    )
    return limit_j_m2 / exposure_time_s


def large_area_irradiance_w_m2(*, exposed_area_m2: float) -> float:
    """Return the limit for a large area of exposed skin and more than 10 s.

    Parameters:
        exposed_area_m2 [m2]: skin that is exposed
    Returns: limit [W/m2]
    Raises: nothing
    Valid for: above 1400 nm, exposures longer than 10 s
    Equation: 1000 up to 100 cm2, 10 / A up to 1000 cm2, 100 above
    Not covered: shorter exposures
    Source: `icnirp2013`, read in transcriptions
    """
    if exposed_area_m2 >= number("LARGE_AREA_TO"):
        return number("LARGE_AREA_LEAST")
    return number("LARGE_AREA_POWER") / max(exposed_area_m2, number("LARGE_AREA_FROM"))


def limiting_aperture_m(
    *, wavelength_m: float, exposure_time_s: float, target: str, edition: str = ICNIRP_2013
) -> float:
    """Return the diameter over which an exposure is averaged.

    Parameters:
        wavelength_m [m]: of the light
        exposure_time_s [s]: how long the exposure lasts
        target [text]: eye or skin
        edition [text]: which limits are followed
    Returns: diameter [m]
    Raises: KeyError for the eye beyond 100 um
    Valid for: 400 nm to 100 um for the eye, to 1 mm for skin
    Equation: eye up to 1400 nm 7 mm; beyond 1 mm up to 0.35 s (0.3 s in edition 2006/25/EC),
        1.5 t^(3/8) mm up to 10 s, 3.5 mm from 10 s on; skin 3.5 mm
    Not covered: the eye beyond 100 um
    Source: `icnirp2013`, and `directive2006` for its edition; both read in transcriptions
    """
    if target == SKIN:
        return number("SKIN_APERTURE")
    if wavelength_m < number("RETINAL_TO"):
        return number("EYE_APERTURE_VISIBLE")
    if wavelength_m > number("EYE_APERTURE_UNTIL"):
        raise KeyError("no aperture is offered")
    until_s = number("EYE_APERTURE_SHORT_UNTIL")
    if edition == EU_2006:
        until_s = number("EYE_APERTURE_2006_SHORT_UNTIL")
    if exposure_time_s <= until_s:
        return number("EYE_APERTURE_SHORT")
    if exposure_time_s < number("LONG_FROM"):
        return number("EYE_APERTURE_GROWTH") * exposure_time_s ** number(
            "EYE_APERTURE_GROWTH_EXPONENT"
        )
    return number("EYE_APERTURE_LONG")


def averaged_diameter_m(
    *,
    beam_diameter_m: float,
    wavelength_m: float,
    exposure_time_s: float,
    target: str,
    edition: str = ICNIRP_2013,
) -> float:
    """Return the diameter over which the power of a beam is spread when it is judged.

    Parameters:
        beam_diameter_m [m]: 63 %; 0 for a beam of unknown size, taken as within the aperture
        wavelength_m [m]: of the light
        exposure_time_s [s]: how long the exposure lasts
        target [text]: eye or skin
        edition [text]: which limits are followed
    Returns: diameter [m]
    Raises: KeyError where there is no aperture
    Valid for: as ``limiting_aperture_m``
    Equation: the beam's where it is larger than the aperture, else the aperture's; a beam below
        1 mm is not averaged for skin, nor for the eye beyond 1400 nm up to 0.35 s
    Not covered: the part of a larger beam that passes the aperture, taken as the peak irradiance
    Source: `icnirp2013`, read in transcriptions; kept so for both editions, as the stricter
    """
    aperture_m = limiting_aperture_m(
        wavelength_m=wavelength_m,
        exposure_time_s=exposure_time_s,
        target=target,
        edition=edition,
    )
    long_wave = wavelength_m >= number("RETINAL_TO")
    sharp = target == SKIN or exposure_time_s <= number("EYE_APERTURE_SHORT_UNTIL")
    if 0 < beam_diameter_m < number("NOT_AVERAGED_BELOW") and long_wave and sharp:
        return beam_diameter_m
    return max(beam_diameter_m, aperture_m)
