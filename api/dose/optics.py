"""How a beam narrows and widens: a thin lens, a waist, the end of a hollow waveguide.

Gaussian beams with a beam quality M2, all diameters 1/e2. The formulas are paraxial: they hold up
to a half divergence of ``HALF_DIVERGENCE_LIMIT``, which ``api/dose/spot.py`` demands of a request.
"""

from math import pi, sqrt, tan

from api.dose.constants import number
from api.dose.ranges import (
    require_above_zero,
    require_below_half_turn,
    require_not_negative,
    require_one_or_more,
)


def rayleigh_range_m(
    *, waist_diameter_m: float, beam_quality_m2: float, wavelength_m: float
) -> float:
    """Return how far from its waist a beam has widened to sqrt 2 times the waist.

    Parameters:
        waist_diameter_m [m]: 1/e2 diameter of the waist
        beam_quality_m2 [1]: M2, 1 for the ideal Gaussian beam
        wavelength_m [m]: in vacuum; air differs by 0.03 %
    Returns: distance [m]
    Raises: BadInput if not above 0, or M2 below 1
    Valid for: half divergences of up to 0.5 rad
    Equation: zR = pi w0^2 / (M2 lambda), w0 half of the diameter
    Not covered: astigmatism
    Source: `siegman1986` for M2 = 1, `iso11146` for M2
    """
    require_above_zero(waist_diameter_m=waist_diameter_m, wavelength_m=wavelength_m)
    require_one_or_more(beam_quality_m2=beam_quality_m2)
    return pi * waist_diameter_m * waist_diameter_m / (4 * beam_quality_m2 * wavelength_m)


def half_divergence_rad(
    *, waist_diameter_m: float, beam_quality_m2: float, wavelength_m: float
) -> float:
    """Return the angle between the axis and the 1/e2 radius far from the waist.

    Parameters:
        waist_diameter_m [m]: 1/e2 diameter of the waist
        beam_quality_m2 [1]: M2, 1 for the ideal Gaussian beam
        wavelength_m [m]: in vacuum
    Returns: half angle [rad]
    Raises: BadInput if not above 0, or M2 below 1
    Valid for: half divergences of up to 0.5 rad
    Equation: theta = M2 lambda / (pi w0) = w0 / zR
    Not covered: astigmatism
    Source: `siegman1986` for M2 = 1, `iso11146` for M2
    """
    require_above_zero(waist_diameter_m=waist_diameter_m, wavelength_m=wavelength_m)
    require_one_or_more(beam_quality_m2=beam_quality_m2)
    return 2 * beam_quality_m2 * wavelength_m / (pi * waist_diameter_m)


def depth_of_focus_m(*, rayleigh_range_m: float) -> float:
    """Return the length over which the beam is at most sqrt 2 times as wide as its waist.

    Parameters:
        rayleigh_range_m [m]: Rayleigh range
    Returns: length, both sides of the waist together [m]
    Raises: BadInput if not above 0
    Valid for: any beam that has a Rayleigh range
    Equation: b = 2 zR
    Not covered: other tolerances: a spot 5 % wider is reached at 0.32 zR to either side
    Source: `siegman1986`
    """
    require_above_zero(rayleigh_range_m=rayleigh_range_m)
    return 2 * rayleigh_range_m


def diameter_at_defocus_m(
    *, waist_diameter_m: float, rayleigh_range_m: float, defocus_m: float
) -> float:
    """Return the diameter of a beam at a distance from its waist.

    Parameters:
        waist_diameter_m [m]: 1/e2 diameter of the waist
        rayleigh_range_m [m]: Rayleigh range
        defocus_m [m]: distance from the waist, the same to either side
    Returns: 1/e2 diameter [m]
    Raises: BadInput if not above 0; a defocus may be 0
    Valid for: half divergences of up to 0.5 rad
    Equation: d = d0 sqrt(1 + (z / zR)^2); with a stated full divergence theta
        zR = d0 / (2 tan(theta/2)), which makes it d0 sqrt(1 + (2 z tan(theta/2) / d0)^2)
    Not covered: a beam that is cut off by a hole, or aberrations
    Source: `siegman1986`
    """
    require_above_zero(waist_diameter_m=waist_diameter_m, rayleigh_range_m=rayleigh_range_m)
    require_not_negative(defocus_m=defocus_m)
    widening = defocus_m / rayleigh_range_m
    return waist_diameter_m * sqrt(1 + widening * widening)


def _squared_ratio(
    beam_diameter_m: float, focal_length_m: float, beam_quality_m2: float, wavelength_m: float
) -> float:
    """Return (zR_in / f)^2 of a beam whose waist is at the lens."""
    require_above_zero(
        beam_diameter_m=beam_diameter_m, focal_length_m=focal_length_m, wavelength_m=wavelength_m
    )
    ratio = (
        rayleigh_range_m(
            waist_diameter_m=beam_diameter_m,
            beam_quality_m2=beam_quality_m2,
            wavelength_m=wavelength_m,
        )
        / focal_length_m
    )
    return ratio * ratio


def waist_diameter_behind_lens_m(
    *, beam_diameter_m: float, focal_length_m: float, beam_quality_m2: float, wavelength_m: float
) -> float:
    """Return the waist that a lens makes of a beam.

    Parameters:
        beam_diameter_m [m]: 1/e2 diameter at the lens, where the incoming waist is
        focal_length_m [m]: focal length
        beam_quality_m2 [1]: M2, 1 for the ideal Gaussian beam
        wavelength_m [m]: in vacuum
    Returns: 1/e2 diameter [m]
    Raises: BadInput if not above 0, or M2 below 1
    Valid for: a thin lens without aberrations that the whole beam passes
    Equation: w0' = w_in / sqrt(1 + (zR_in / f)^2), zR_in = pi w_in^2 / (M2 lambda); for
        zR_in far above f this is M2 lambda f / (pi w_in), or 4 M2 lambda f / (pi D) as a diameter
    Not covered: an incoming waist away from the lens, aberrations, a beam cut off by the mount
    Source: `siegman1986`, derived from q' = q f / (f - q) with q = i zR_in
    """
    squared = _squared_ratio(beam_diameter_m, focal_length_m, beam_quality_m2, wavelength_m)
    return beam_diameter_m / sqrt(1 + squared)


def waist_position_behind_lens_m(
    *, beam_diameter_m: float, focal_length_m: float, beam_quality_m2: float, wavelength_m: float
) -> float:
    """Return how far behind a lens the waist is that it makes.

    Parameters:
        beam_diameter_m [m]: 1/e2 diameter at the lens, where the incoming waist is
        focal_length_m [m]: focal length
        beam_quality_m2 [1]: M2, 1 for the ideal Gaussian beam
        wavelength_m [m]: in vacuum
    Returns: distance, at most the focal length [m]
    Raises: BadInput if not above 0, or M2 below 1
    Valid for: a thin lens without aberrations that the whole beam passes
    Equation: s' = f r / (1 + r), r = (zR_in / f)^2
    Not covered: an incoming waist away from the lens
    Source: `siegman1986`, derived from q' = q f / (f - q) with q = i zR_in
    """
    squared = _squared_ratio(beam_diameter_m, focal_length_m, beam_quality_m2, wavelength_m)
    return focal_length_m * (squared / (1 + squared))


def tip_waist_diameter_m(*, bore_diameter_m: float) -> float:
    """Return the diameter of the beam at the end of a hollow waveguide, as a lower bound.

    Parameters:
        bore_diameter_m [m]: inner diameter of the waveguide
    Returns: 1/e2 diameter of the waist, which is at the end [m]
    Raises: BadInput if not above 0
    Valid for: the lowest mode (HE11) of a round bore much wider than the wavelength
    Equation: d0 = 0.643562 times the bore: the Gaussian beam that has most in common with
        J0(2.404826 r / a)
    Not covered: higher modes, which fill more of the bore and widen faster; real guides carry them
    Source: `abrams1972`, derived by maximising the overlap integral
    """
    require_above_zero(bore_diameter_m=bore_diameter_m)
    return number("HE11_WAIST_PER_BORE") * bore_diameter_m


def rayleigh_range_from_divergence_m(
    *, waist_diameter_m: float, full_divergence_rad: float
) -> float:
    """Return the Rayleigh range of a beam whose divergence is stated.

    Parameters:
        waist_diameter_m [m]: 1/e2 diameter of the waist
        full_divergence_rad [rad]: full angle far from the waist, 1/e2
    Returns: distance [m]
    Raises: BadInput if not above 0, or an angle of a half turn or more
    Valid for: a beam that widens as a hyperbola from its waist to the stated cone
    Equation: zR = d0 / (2 tan(theta/2)), from d(z) = d0 sqrt(1 + (2 z tan(theta/2) / d0)^2)
    Not covered: a divergence of another definition than 1/e2
    Source: `definition`
    """
    require_above_zero(waist_diameter_m=waist_diameter_m, full_divergence_rad=full_divergence_rad)
    require_below_half_turn(full_divergence_rad=full_divergence_rad)
    return waist_diameter_m / (2 * tan(full_divergence_rad / 2))


def half_of_full_divergence_rad(*, full_divergence_rad: float) -> float:
    """Return the half angle of a stated full divergence.

    Parameters:
        full_divergence_rad [rad]: full angle far from the waist, 1/e2
    Returns: half angle [rad]
    Raises: BadInput if not above 0, or an angle of a half turn or more
    Valid for: any stated cone
    Equation: theta/2
    Not covered: a divergence of another definition than 1/e2
    Source: `definition`
    """
    require_above_zero(full_divergence_rad=full_divergence_rad)
    require_below_half_turn(full_divergence_rad=full_divergence_rad)
    return full_divergence_rad / 2
