"""How heat spreads, boils water and damages tissue: the closed forms behind the simulation."""

from math import exp, log, sqrt

from api.dose.ranges import require_above_zero, require_fraction
from api.errors import BadInput


def diffusion_length_m(*, diffusivity_m2_s: float, time_s: float) -> float:
    """Return how far heat spreads in a time.

    Parameters:
        diffusivity_m2_s [m2/s]: thermal diffusivity
        time_s [s]: time
    Returns: length [m]
    Raises: BadInput if not above 0
    Valid for: a uniform medium
    Equation: L = sqrt(4 kappa t)
    Not covered: blood flow
    Source: `carslaw1959`
    """
    require_above_zero(diffusivity_m2_s=diffusivity_m2_s, time_s=time_s)
    return sqrt(4 * diffusivity_m2_s * time_s)


def sensible_heat_j_m3(
    *, density_kg_m3: float, specific_heat_j_kg_k: float, rise_k: float
) -> float:
    """Return the heat that warms a volume.

    Parameters:
        density_kg_m3 [kg/m3]: density
        specific_heat_j_kg_k [J/(kg K)]: specific heat
        rise_k [K]: rise of the temperature
    Returns: heat of a volume [J/m3]
    Raises: BadInput if not above 0
    Valid for: a rise without boiling
    Equation: rho c dT
    Not covered: a specific heat that changes with temperature
    Source: `definition`
    """
    require_above_zero(
        density_kg_m3=density_kg_m3, specific_heat_j_kg_k=specific_heat_j_kg_k, rise_k=rise_k
    )
    return density_kg_m3 * specific_heat_j_kg_k * rise_k


def drying_heat_j_m3(
    *,
    density_kg_m3: float,
    specific_heat_j_kg_k: float,
    rise_k: float,
    water_fraction: float,
    latent_heat_j_kg: float,
) -> float:
    """Return the heat that warms a volume to boiling and boils off all its water.

    Parameters:
        density_kg_m3 [kg/m3]: density of the tissue
        specific_heat_j_kg_k [J/(kg K)]: specific heat of the tissue
        rise_k [K]: rise to the boiling temperature
        water_fraction [1]: part that is water
        latent_heat_j_kg [J/kg]: heat that boiling takes
    Returns: heat of a volume [J/m3]
    Raises: BadInput if not above 0, or the fraction above 1
    Valid for: boiling at 101 kPa
    Equation: rho (c dT + W L)
    Not covered: superheated water, pressure
    Source: `definition`
    """
    require_above_zero(latent_heat_j_kg=latent_heat_j_kg)
    require_fraction(water_fraction=water_fraction)
    warming = sensible_heat_j_m3(
        density_kg_m3=density_kg_m3, specific_heat_j_kg_k=specific_heat_j_kg_k, rise_k=rise_k
    )
    return warming + density_kg_m3 * water_fraction * latent_heat_j_kg


def damage_rate_per_s(*, temperature_k: float, log_frequency: float, activation_k: float) -> float:
    """Return how fast the damage integral grows.

    Parameters:
        temperature_k [K]: absolute temperature
        log_frequency [ln(1/s)]: ln A
        activation_k [K]: E/R
    Returns: rate [1/s]
    Raises: BadInput if not above 0
    Valid for: the range of the experiment, 44 to 60 Cel; hotter is an extrapolation
    Equation: d Omega/dt = exp(ln A - (E/R) / T)
    Not covered: repair, other tissue than that of the constants
    Source: `henriques1947`
    """
    require_above_zero(
        temperature_k=temperature_k, log_frequency=log_frequency, activation_k=activation_k
    )
    return exp(log_frequency - activation_k / temperature_k)


def damage_temperature_k(*, time_s: float, log_frequency: float, activation_k: float) -> float:
    """Return the steady temperature at which the damage integral reaches 1 in a time.

    Parameters:
        time_s [s]: time at that temperature
        log_frequency [ln(1/s)]: ln A
        activation_k [K]: E/R
    Returns: absolute temperature [K]
    Raises: BadInput if not above 0, or a time so short that no temperature would do
    Valid for: the range of the experiment, 44 to 60 Cel; hotter is an extrapolation
    Equation: T = (E/R) / ln(A t)
    Not covered: temperatures that change
    Source: `henriques1947`
    """
    require_above_zero(time_s=time_s, log_frequency=log_frequency, activation_k=activation_k)
    divisor = log_frequency + log(time_s)
    if divisor <= 0:
        raise BadInput("out_of_range", f"time_s is {time_s}, too short", field="time_s")
    return activation_k / divisor
