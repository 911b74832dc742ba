"""What falls on the tissue: irradiance, fluence, and the track of a moving spot.

Mean is over the 1/e2 disc, peak is the centre of a Gaussian spot, which is twice the mean. Both
are shown, named, as papers use either.
"""

from math import pi

from api.dose.constants import number
from api.dose.ranges import require_above_zero


def irradiance_mean_w_m2(*, power_w: float, spot_diameter_m: float) -> float:
    """Return the irradiance averaged over the spot.

    Parameters:
        power_w [W]: average power
        spot_diameter_m [m]: 1/e2 diameter
    Returns: irradiance [W/m2]
    Raises: BadInput if not above 0
    Valid for: power or energy that all passes through the spot
    Equation: E = 4 P / (pi d^2), the whole power over the 1/e2 disc
    Not covered: profiles with hot spots
    Source: `iso11145`, checked against `monteiro2012`: 5 W over 2 mm, 159.2 W/cm2
    """
    require_above_zero(power_w=power_w, spot_diameter_m=spot_diameter_m)
    return 4 * power_w / (pi * spot_diameter_m * spot_diameter_m)


def irradiance_peak_w_m2(*, power_w: float, spot_diameter_m: float) -> float:
    """Return the irradiance in the centre of a Gaussian spot.

    Parameters:
        power_w [W]: average power
        spot_diameter_m [m]: 1/e2 diameter
    Returns: irradiance [W/m2]
    Raises: BadInput if not above 0
    Valid for: power or energy that all passes through the spot
    Equation: E0 = 8 P / (pi d^2), from P = integral of E0 exp(-2 r^2/w^2) 2 pi r dr, d = 2 w
    Not covered: other profiles
    Source: `siegman1986`
    """
    require_above_zero(power_w=power_w, spot_diameter_m=spot_diameter_m)
    return 8 * power_w / (pi * spot_diameter_m * spot_diameter_m)


def fluence_mean_j_m2(*, pulse_energy_j: float, spot_diameter_m: float) -> float:
    """Return the fluence of one pulse averaged over the spot.

    Parameters:
        pulse_energy_j [J]: energy of one pulse
        spot_diameter_m [m]: 1/e2 diameter
    Returns: fluence [J/m2]
    Raises: BadInput if not above 0
    Valid for: power or energy that all passes through the spot
    Equation: H = 4 E / (pi d^2)
    Not covered: a spot that moves far within a pulse
    Source: `iso11145`
    """
    require_above_zero(pulse_energy_j=pulse_energy_j, spot_diameter_m=spot_diameter_m)
    return 4 * pulse_energy_j / (pi * spot_diameter_m * spot_diameter_m)


def fluence_peak_j_m2(*, pulse_energy_j: float, spot_diameter_m: float) -> float:
    """Return the fluence of one pulse in the centre of a Gaussian spot.

    Parameters:
        pulse_energy_j [J]: energy of one pulse
        spot_diameter_m [m]: 1/e2 diameter
    Returns: fluence [J/m2]
    Raises: BadInput if not above 0
    Valid for: power or energy that all passes through the spot
    Equation: H0 = 8 E / (pi d^2)
    Not covered: a spot that moves far within a pulse
    Source: `siegman1986`
    """
    require_above_zero(pulse_energy_j=pulse_energy_j, spot_diameter_m=spot_diameter_m)
    return 8 * pulse_energy_j / (pi * spot_diameter_m * spot_diameter_m)


def dwell_time_s(*, spot_diameter_m: float, speed_m_s: float) -> float:
    """Return how long the spot takes to move by its own diameter.

    Parameters:
        spot_diameter_m [m]: 1/e2 diameter
        speed_m_s [m/s]: speed of the spot
    Returns: time [s]
    Raises: BadInput if not above 0
    Valid for: power or energy that all passes through the spot
    Equation: t = d / v
    Not covered: turns and stops
    Source: `definition`
    """
    require_above_zero(spot_diameter_m=spot_diameter_m, speed_m_s=speed_m_s)
    return spot_diameter_m / speed_m_s


def pulses_per_spot(
    *, repetition_rate_hz: float, spot_diameter_m: float, speed_m_s: float
) -> float:
    """Return how many pulses fall on one place of the centre line.

    Parameters:
        repetition_rate_hz [Hz]: pulses a second
        spot_diameter_m [m]: 1/e2 diameter
        speed_m_s [m/s]: speed of the spot
    Returns: count [1], below 1 where spots do not touch
    Raises: BadInput if not above 0
    Valid for: power or energy that all passes through the spot
    Equation: N = f d / v
    Not covered: gated trains
    Source: `definition`
    """
    require_above_zero(
        repetition_rate_hz=repetition_rate_hz, spot_diameter_m=spot_diameter_m, speed_m_s=speed_m_s
    )
    return repetition_rate_hz * spot_diameter_m / speed_m_s


def overlap(*, repetition_rate_hz: float, spot_diameter_m: float, speed_m_s: float) -> float:
    """Return how much of its diameter a spot shares with the next.

    Parameters:
        repetition_rate_hz [Hz]: pulses a second
        spot_diameter_m [m]: 1/e2 diameter
        speed_m_s [m/s]: speed of the spot
    Returns: overlap [1], below 0: gaps between spots
    Raises: BadInput if not above 0
    Valid for: power or energy that all passes through the spot
    Equation: o = 1 - v / (f d)
    Not covered: gated trains
    Source: `definition`
    """
    require_above_zero(
        repetition_rate_hz=repetition_rate_hz, spot_diameter_m=spot_diameter_m, speed_m_s=speed_m_s
    )
    return 1 - speed_m_s / (repetition_rate_hz * spot_diameter_m)


def line_energy_j_m(*, power_w: float, speed_m_s: float) -> float:
    """Return the energy that falls on a length of the track.

    Parameters:
        power_w [W]: average power
        speed_m_s [m/s]: speed of the spot
    Returns: energy per length [J/m]
    Raises: BadInput if not above 0
    Valid for: power or energy that all passes through the spot
    Equation: E' = P / v
    Not covered: turns and stops
    Source: `definition`
    """
    require_above_zero(power_w=power_w, speed_m_s=speed_m_s)
    return power_w / speed_m_s


def track_fluence_mean_j_m2(*, power_w: float, spot_diameter_m: float, speed_m_s: float) -> float:
    """Return the fluence on the centre line of an even spot that moves.

    Parameters:
        power_w [W]: average power
        spot_diameter_m [m]: 1/e2 diameter
        speed_m_s [m/s]: speed of the spot
    Returns: fluence [J/m2]
    Raises: BadInput if not above 0
    Valid for: power or energy that all passes through the spot
    Equation: H = 4 P / (pi d v), irradiance 4 P / (pi d^2) for the time d / v
    Not covered: single pulses or gates far apart: it is an average along the line
    Source: `definition`
    """
    require_above_zero(power_w=power_w, spot_diameter_m=spot_diameter_m, speed_m_s=speed_m_s)
    return 4 * power_w / (pi * spot_diameter_m * speed_m_s)


def track_fluence_peak_j_m2(*, power_w: float, spot_diameter_m: float, speed_m_s: float) -> float:
    """Return the fluence on the centre line of a Gaussian spot that moves.

    Parameters:
        power_w [W]: average power
        spot_diameter_m [m]: 1/e2 diameter
        speed_m_s [m/s]: speed of the spot
    Returns: fluence [J/m2]
    Raises: BadInput if not above 0
    Valid for: power or energy that all passes through the spot
    Equation: H = sqrt(2/pi) P / (w v), from the integral of 2P/(pi w^2) exp(-2 (v t)^2/w^2) dt,
        w = d/2
    Not covered: single pulses or gates far apart: it is an average along the line
    Source: `siegman1986`
    """
    require_above_zero(power_w=power_w, spot_diameter_m=spot_diameter_m, speed_m_s=speed_m_s)
    return number("SQRT_TWO_OVER_PI") * power_w / (spot_diameter_m / 2 * speed_m_s)


def total_energy_j(*, power_w: float, emission_time_s: float) -> float:
    """Return the energy of a whole emission.

    Parameters:
        power_w [W]: average power
        emission_time_s [s]: time with the laser on, a gate's pauses included
    Returns: energy [J]
    Raises: BadInput if not above 0
    Valid for: power or energy that all passes through the spot
    Equation: E = P t
    Not covered: a time that ends within a gate or pulse
    Source: `definition`
    """
    require_above_zero(power_w=power_w, emission_time_s=emission_time_s)
    return power_w * emission_time_s
