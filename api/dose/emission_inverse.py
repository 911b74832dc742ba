"""The relations of ``emission``, solved for their other members.

Each says the same as its sibling there; a panel that shows any sufficient subset can be read.
"""

from api.dose.ranges import require_above_zero


def repetition_rate_hz(*, pulse_period_s: float) -> float:
    """Return how many pulses a second a period means.

    Parameters:
        pulse_period_s [s]: start of a pulse to the start of the next
    Returns: repetition rate [Hz]
    Raises: BadInput if not above 0
    Valid for: evenly spaced, complete pulses
    Equation: f = 1 / T
    Not covered: pauses of a gate, see gates
    Source: `iso11145`
    """
    require_above_zero(pulse_period_s=pulse_period_s)
    return 1 / pulse_period_s


def repetition_rate_from_duty_hz(*, duty_cycle: float, pulse_duration_s: float) -> float:
    """Return the repetition rate from the duty cycle.

    Parameters:
        duty_cycle [1]: pulse duration times repetition rate
        pulse_duration_s [s]: as defined for the shape
    Returns: repetition rate [Hz]
    Raises: BadInput if not above 0
    Valid for: evenly spaced, complete pulses
    Equation: f = D / tau
    Not covered: pauses of a gate, see gates
    Source: `iso11145`
    """
    require_above_zero(duty_cycle=duty_cycle, pulse_duration_s=pulse_duration_s)
    return duty_cycle / pulse_duration_s


def pulse_duration_from_duty_s(*, duty_cycle: float, repetition_rate_hz: float) -> float:
    """Return the pulse duration from the duty cycle.

    Parameters:
        duty_cycle [1]: pulse duration times repetition rate
        repetition_rate_hz [Hz]: pulses a second
    Returns: pulse duration [s]
    Raises: BadInput if not above 0
    Valid for: evenly spaced, complete pulses
    Equation: tau = D / f
    Not covered: pauses of a gate, see gates
    Source: `iso11145`
    """
    require_above_zero(duty_cycle=duty_cycle, repetition_rate_hz=repetition_rate_hz)
    return duty_cycle / repetition_rate_hz


def repetition_rate_from_energy_hz(*, average_power_w: float, pulse_energy_j: float) -> float:
    """Return the repetition rate from power and energy.

    Parameters:
        average_power_w [W]: average over the pulse period
        pulse_energy_j [J]: energy of one pulse
    Returns: repetition rate [Hz]
    Raises: BadInput if not above 0
    Valid for: evenly spaced, complete pulses
    Equation: f = P / E
    Not covered: pauses of a gate, see gates
    Source: `iso11145`
    """
    require_above_zero(average_power_w=average_power_w, pulse_energy_j=pulse_energy_j)
    return average_power_w / pulse_energy_j


def pulse_energy_from_average_j(*, average_power_w: float, repetition_rate_hz: float) -> float:
    """Return the pulse energy from the average power.

    Parameters:
        average_power_w [W]: average over the pulse period
        repetition_rate_hz [Hz]: pulses a second
    Returns: pulse energy [J]
    Raises: BadInput if not above 0
    Valid for: evenly spaced, complete pulses
    Equation: E = P / f
    Not covered: pauses of a gate, see gates
    Source: `iso11145`
    """
    require_above_zero(average_power_w=average_power_w, repetition_rate_hz=repetition_rate_hz)
    return average_power_w / repetition_rate_hz


def peak_power_w(*, pulse_energy_j: float, pulse_duration_s: float, shape_factor: float) -> float:
    """Return the peak power of a pulse.

    Parameters:
        pulse_energy_j [J]: energy of one pulse
        pulse_duration_s [s]: as defined for the shape
        shape_factor [1]: from emission.shape_factor
    Returns: peak power [W]
    Raises: BadInput if not above 0
    Valid for: evenly spaced, complete pulses
    Equation: P_peak = E / (k tau)
    Not covered: pauses of a gate, see gates
    Source: `iso11145`
    """
    require_above_zero(
        pulse_energy_j=pulse_energy_j, pulse_duration_s=pulse_duration_s, shape_factor=shape_factor
    )
    return pulse_energy_j / (shape_factor * pulse_duration_s)


def pulse_duration_s(*, pulse_energy_j: float, peak_power_w: float, shape_factor: float) -> float:
    """Return the pulse duration from energy and peak power.

    Parameters:
        pulse_energy_j [J]: energy of one pulse
        peak_power_w [W]: highest power in the pulse
        shape_factor [1]: from emission.shape_factor
    Returns: pulse duration [s]
    Raises: BadInput if not above 0
    Valid for: evenly spaced, complete pulses
    Equation: tau = E / (k P_peak)
    Not covered: pauses of a gate, see gates
    Source: `iso11145`
    """
    require_above_zero(
        pulse_energy_j=pulse_energy_j, peak_power_w=peak_power_w, shape_factor=shape_factor
    )
    return pulse_energy_j / (shape_factor * peak_power_w)


def peak_power_from_average_w(
    *, average_power_w: float, duty_cycle: float, shape_factor: float
) -> float:
    """Return the peak power from the average power.

    Parameters:
        average_power_w [W]: average over the pulse period
        duty_cycle [1]: pulse duration times repetition rate
        shape_factor [1]: from emission.shape_factor
    Returns: peak power [W]
    Raises: BadInput if not above 0
    Valid for: evenly spaced, complete pulses
    Equation: P_peak = P / (k D)
    Not covered: pauses of a gate, see gates
    Source: `iso11145`
    """
    require_above_zero(
        average_power_w=average_power_w, duty_cycle=duty_cycle, shape_factor=shape_factor
    )
    return average_power_w / (shape_factor * duty_cycle)


def duty_cycle_from_powers(
    *, average_power_w: float, peak_power_w: float, shape_factor: float
) -> float:
    """Return the duty cycle from both powers.

    Parameters:
        average_power_w [W]: average over the pulse period
        peak_power_w [W]: highest power in the pulse
        shape_factor [1]: from emission.shape_factor
    Returns: duty cycle [1]
    Raises: BadInput if not above 0
    Valid for: evenly spaced, complete pulses
    Equation: D = P / (k P_peak)
    Not covered: pauses of a gate, see gates
    Source: `iso11145`
    """
    require_above_zero(
        average_power_w=average_power_w, peak_power_w=peak_power_w, shape_factor=shape_factor
    )
    return average_power_w / (shape_factor * peak_power_w)
