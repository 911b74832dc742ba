"""What a beam may do in soft tissue: absorption by water, relaxation, depth of a pulse and a cut.

Each depth is an end of a band or a trend, never a forecast for a patient: tissue differs, char and
splash shield it, and repeated passes go deeper. Validity is demanded in ``tissue_results``.
"""

from itertools import pairwise
from math import exp, log, pi

from api.dose.constants import number, table
from api.dose.ranges import (
    require_above_threshold,
    require_above_zero,
    require_fraction,
    require_not_negative,
)
from api.errors import BadInput


def water_extinction_coefficient(*, wavelength_m: float) -> float:
    """Return the extinction coefficient k of water.

    Parameters:
        wavelength_m [m]: in vacuum
    Returns: k [1]
    Raises: BadInput if the wavelength is in none of the ranges held
    Valid for: liquid water at 25 degC, 2.75 to 3 um and 9.2 to 11 um
    Equation: linear between the nodes of the table
    Not covered: hot water and steam, which absorb less
    Source: `hale1973`, table; at 10.6 um Segelstein 1981 has 0.0713, 1.4 % less
    """
    for nodes in table()["water_extinction"]["ranges"]:
        for (left, k_left), (right, k_right) in pairwise(nodes):
            if left <= wavelength_m <= right:
                return k_left + (k_right - k_left) * ((wavelength_m - left) / (right - left))
    raise BadInput(
        "out_of_range", f"wavelength_m is {wavelength_m}, no value is held", field="wavelength_m"
    )


def absorption_coefficient_per_m(*, extinction_coefficient: float, wavelength_m: float) -> float:
    """Return the absorption coefficient that belongs to an extinction coefficient.

    Parameters:
        extinction_coefficient [1]: k, the imaginary part of the refractive index
        wavelength_m [m]: in vacuum
    Returns: absorption coefficient [1/m]
    Raises: BadInput if not above 0
    Valid for: weak beams in a uniform medium
    Equation: alpha = 4 pi k / lambda
    Not covered: bleaching while a pulse heats the water
    Source: `definition`
    """
    require_above_zero(extinction_coefficient=extinction_coefficient, wavelength_m=wavelength_m)
    return 4 * pi * extinction_coefficient / wavelength_m


def tissue_absorption_per_m(*, water_absorption_per_m: float, water_fraction: float) -> float:
    """Return the absorption coefficient of tissue if its water alone absorbs.

    Parameters:
        water_absorption_per_m [1/m]: of water
        water_fraction [1]: part of the volume that is water
    Returns: absorption coefficient [1/m]
    Raises: BadInput if not above 0, or the fraction above 1
    Valid for: wavelengths at which the structural matrix absorbs little
    Equation: mu_a = W alpha
    Not covered: protein and mineral: at 9.2 to 9.7 um the value is too low
    Source: `definition`
    """
    require_above_zero(water_absorption_per_m=water_absorption_per_m)
    require_fraction(water_fraction=water_fraction)
    return water_fraction * water_absorption_per_m


def absorption_depth_m(*, absorption_per_m: float) -> float:
    """Return the depth at which 1/e of the irradiance is left.

    Parameters:
        absorption_per_m [1/m]: absorption coefficient of the tissue
    Returns: depth [m]
    Raises: BadInput if not above 0
    Valid for: absorption far stronger than scattering
    Equation: d = 1 / mu_a
    Not covered: scattering
    Source: `definition`
    """
    require_above_zero(absorption_per_m=absorption_per_m)
    return 1 / absorption_per_m


def remaining_fraction(*, absorption_per_m: float, depth_m: float) -> float:
    """Return what part of the irradiance is left at a depth.

    Parameters:
        absorption_per_m [1/m]: absorption coefficient
        depth_m [m]: below the surface
    Returns: fraction [1]
    Raises: BadInput if not above 0; a depth may be 0
    Valid for: absorption far stronger than scattering
    Equation: exp(-mu_a z), the law of Beer and Lambert
    Not covered: scattering, reflection at the surface
    Source: `definition`
    """
    require_above_zero(absorption_per_m=absorption_per_m)
    require_not_negative(depth_m=depth_m)
    return exp(-absorption_per_m * depth_m)


def diffusivity_m2_s(
    *, conductivity_w_m_k: float, density_kg_m3: float, specific_heat_j_kg_k: float
) -> float:
    """Return how fast heat spreads.

    Parameters:
        conductivity_w_m_k [W/(m K)]: thermal conductivity
        density_kg_m3 [kg/m3]: density
        specific_heat_j_kg_k [J/(kg K)]: specific heat
    Returns: thermal diffusivity [m2/s]
    Raises: BadInput if not above 0
    Valid for: a uniform medium
    Equation: kappa = k / (rho c)
    Not covered: blood flow
    Source: `definition`
    """
    require_above_zero(
        conductivity_w_m_k=conductivity_w_m_k,
        density_kg_m3=density_kg_m3,
        specific_heat_j_kg_k=specific_heat_j_kg_k,
    )
    return conductivity_w_m_k / (density_kg_m3 * specific_heat_j_kg_k)


def relaxation_time_s(*, size_m: float, diffusivity_m2_s: float, geometry_factor: float) -> float:
    """Return the time in which a heated body loses most of its heat.

    Parameters:
        size_m [m]: thickness of a layer, diameter of a sphere or cylinder
        diffusivity_m2_s [m2/s]: thermal diffusivity
        geometry_factor [1]: 4 for a layer, 8 for a sphere, 16 for a cylinder
    Returns: time [s]
    Raises: BadInput if not above 0
    Valid for: an order of magnitude; papers differ in the factor, so it is named beside the value
    Equation: tau = d^2 / (g kappa)
    Not covered: heating that goes on, blood flow
    Source: `practice`
    """
    require_above_zero(
        size_m=size_m, diffusivity_m2_s=diffusivity_m2_s, geometry_factor=geometry_factor
    )
    return size_m * size_m / (geometry_factor * diffusivity_m2_s)


def volume_heat_j_m3(*, density_kg_m3: float, heat_j_kg: float) -> float:
    """Return a heat of a mass as the heat of its volume.

    Parameters:
        density_kg_m3 [kg/m3]: density
        heat_j_kg [J/kg]: heat of ablation, or latent heat
    Returns: heat of a volume [J/m3]
    Raises: BadInput if not above 0
    Valid for: any medium
    Equation: rho h
    Not covered: nothing
    Source: `definition`
    """
    require_above_zero(density_kg_m3=density_kg_m3, heat_j_kg=heat_j_kg)
    return density_kg_m3 * heat_j_kg


def steady_depth_m(
    *, fluence_j_m2: float, threshold_j_m2: float, ablation_heat_j_m3: float
) -> float:
    """Return the depth of one pulse if removal keeps pace with it.

    Parameters:
        fluence_j_m2 [J/m2]: of one pulse, above the threshold
        threshold_j_m2 [J/m2]: fluence below which nothing is removed
        ablation_heat_j_m3 [J/m3]: heat that the removal of a volume takes
    Returns: depth [m]
    Raises: BadInput if not above 0, or the fluence not above the threshold
    Valid for: pulses below 0.5 ms at the wavelength at which the threshold was measured
    Equation: z = (H - Hth) / h
    Not covered: absorption in the plume, later pulses on the same place
    Source: `payne1997`
    """
    require_above_zero(
        fluence_j_m2=fluence_j_m2,
        threshold_j_m2=threshold_j_m2,
        ablation_heat_j_m3=ablation_heat_j_m3,
    )
    require_above_threshold(fluence_j_m2=fluence_j_m2, threshold=threshold_j_m2)
    return (fluence_j_m2 - threshold_j_m2) / ablation_heat_j_m3


def blow_off_depth_m(
    *, fluence_j_m2: float, threshold_j_m2: float, absorption_per_m: float
) -> float:
    """Return the depth of one pulse if all tissue above the threshold leaves after it.

    Parameters:
        fluence_j_m2 [J/m2]: of one pulse, above the threshold
        threshold_j_m2 [J/m2]: fluence below which nothing is removed
        absorption_per_m [1/m]: absorption coefficient of the tissue
    Returns: depth [m]
    Raises: BadInput if not above 0, or the fluence not above the threshold
    Valid for: pulses much shorter than the relaxation time
    Equation: z = ln(H / Hth) / mu_a, where Beer and Lambert's fluence falls to the threshold
    Not covered: removal within the pulse
    Source: `definition`
    """
    require_above_zero(
        fluence_j_m2=fluence_j_m2,
        threshold_j_m2=threshold_j_m2,
        absorption_per_m=absorption_per_m,
    )
    require_above_threshold(fluence_j_m2=fluence_j_m2, threshold=threshold_j_m2)
    return log(fluence_j_m2 / threshold_j_m2) / absorption_per_m


def cut_depth_m(
    *, power_w: float, spot_diameter_m: float, speed_m_s: float, ablation_heat_j_m3: float
) -> float:
    """Return the depth of the cut that a moving spot makes if all its power removes tissue.

    Parameters:
        power_w [W]: average power
        spot_diameter_m [m]: 1/e2 diameter
        speed_m_s [m/s]: speed of the spot
        ablation_heat_j_m3 [J/m3]: heat that the removal of a volume takes
    Returns: depth [m]
    Raises: BadInput if not above 0
    Valid for: an ideal energy balance over a kerf as wide as the spot
    Equation: z = P / (h d v)
    Not covered: a narrow kerf or repeated passes, which cut deeper; heat lost sideways
    Source: `definition`, with h from `walsh1989` and `payne1997`
    """
    require_above_zero(
        power_w=power_w,
        spot_diameter_m=spot_diameter_m,
        speed_m_s=speed_m_s,
        ablation_heat_j_m3=ablation_heat_j_m3,
    )
    return power_w / (ablation_heat_j_m3 * spot_diameter_m * speed_m_s)


def measured_trend_depth_m(*, power_w: float) -> float:
    """Return the depth of incision that a straight line through measurements gives.

    Parameters:
        power_w [W]: continuous power, from 3 to 10 W
    Returns: depth [m]
    Raises: BadInput outside 3 to 10 W
    Valid for: the experiment: swine tongue, 10.6 um, continuous; a trend only
    Equation: depth in mm = 0.491 P in W - 0.731 (r = 0.81)
    Not covered: spot and speed, which the text read does not state
    Source: `mungmee2023`
    """
    if not number("TREND_FROM") <= power_w <= number("TREND_TO"):
        raise BadInput("out_of_range", f"power_w is {power_w}, not measured", field="power_w")
    return number("TREND_SLOPE") * power_w - number("TREND_OFFSET")
