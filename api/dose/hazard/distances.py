"""How far a beam is above its limit. All diameters and divergences are 63 % (1/e) unless said.

``hazard_area_m2`` is the power over the limiting irradiance, or a pulse's energy over the limiting
radiant exposure, whichever is larger: the area over which the beam must have spread to be safe.
"""

from math import cos, pi, sqrt, tan


def direct_distance_m(
    *, hazard_area_m2: float, beam_diameter_m: float, full_divergence_rad: float
) -> float:
    """Return how far a freely spreading beam is above its limit.

    Parameters:
        hazard_area_m2 [m2]: see above
        beam_diameter_m [m]: 63 %, where the beam leaves; 0 where a table leaves it out
        full_divergence_rad [rad]: 63 %
    Returns: distance from where the beam leaves [m], never below 0
    Raises: ZeroDivisionError without divergence
    Valid for: a Gaussian beam far from its waist; no focusing on the way
    Equation: r = (sqrt(4 A / pi) - a) / phi
    Not covered: lenses, reflections, viewing through optics
    Source: `iec60825`, from memory; printed values in the checks agree
    """
    return max(0.0, (sqrt(4 * hazard_area_m2 / pi) - beam_diameter_m) / full_divergence_rad)


def lens_distance_m(
    *, hazard_area_m2: float, focal_length_m: float, beam_diameter_at_lens_m: float
) -> float:
    """Return how far beyond its focus a focused beam is above its limit.

    Parameters:
        hazard_area_m2 [m2]: see above
        focal_length_m [m]: of the lens
        beam_diameter_at_lens_m [m]: 63 %
    Returns: distance from the focus [m]
    Raises: ZeroDivisionError for a beam without diameter
    Valid for: distances large against the focal length
    Equation: r = (f / b) sqrt(4 A / pi)
    Not covered: aberrations, which spread the beam sooner
    Source: `iec60825`, from memory; printed values in the checks agree
    """
    return focal_length_m / beam_diameter_at_lens_m * sqrt(4 * hazard_area_m2 / pi)


def tip_distance_m(
    *, hazard_area_m2: float, tip_diameter_m: float, full_divergence_rad: float
) -> float:
    """Return how far from a waveguide or rigid tip the beam is above its limit.

    Parameters:
        hazard_area_m2 [m2]: see above
        tip_diameter_m [m]: 1/e2, at the exit
        full_divergence_rad [rad]: 1/e2, full angle
    Returns: distance from the exit [m], never below 0
    Raises: ZeroDivisionError without divergence
    Valid for: a Gaussian beam; peak irradiance 8 P / (pi d^2) on the 1/e2 diameter
    Equation: 8 A / (pi d(r)^2) = 1 with d(r) = d0 + 2 r tan(theta / 2)
    Not covered: higher modes, which spread more
    Source: `definition`, the integral of a Gaussian
    """
    spread_m = sqrt(8 * hazard_area_m2 / pi) - tip_diameter_m
    return max(0.0, spread_m / (2 * tan(full_divergence_rad / 2)))


def diffuse_distance_m(*, hazard_area_m2: float, reflectance: float, angle_rad: float) -> float:
    """Return how far from a matt surface the reflected light is above its limit.

    Parameters:
        hazard_area_m2 [m2]: see above
        reflectance [1]: of the surface
        angle_rad [rad]: from the surface's normal
    Returns: distance from the surface [m]
    Raises: nothing
    Valid for: a Lambertian surface, and a spot small against the distance
    Equation: r = sqrt(rho A cos(theta) / pi)
    Not covered: shiny surfaces: metal that looks matt can be a mirror at 10.6 um, so that this
        distance never decides who wears eyewear
    Source: `iec60825`, from memory; printed values in the checks agree
    """
    return sqrt(reflectance * hazard_area_m2 * max(0.0, cos(angle_rad)) / pi)
