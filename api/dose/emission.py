"""What a laser emits: the relations between powers, energy and time of a pulse train.

Peak power is the highest power within the pulse, average power the energy over the whole period.
They are different fields everywhere, as mixing them up is the costliest mistake with a panel.
Each relation stands here once, solved for each of its members in ``emission_inverse``.
"""

from api.dose.constants import number
from api.dose.ranges import require_above_zero
from api.errors import BadInput

PULSE_SHAPES = ("rectangular", "triangular", "gaussian", "exponential")


def shape_factor(*, pulse_shape: str) -> float:
    """Return how much energy a pulse of this shape holds against peak power times duration.

    Parameters:
        pulse_shape [text]: rectangular (full width), triangular or gaussian (full width at half
            maximum), exponential (1/e time)
    Returns: factor [1]
    Raises: BadInput for another shape
    Valid for: the duration of that shape as defined above
    Equation: rectangular 1; triangular (base = 2 FWHM, area = base/2 x peak) 1;
        gaussian, integral of exp(-4 ln2 t^2/FWHM^2) = sqrt(pi/(4 ln2)) FWHM, 1.064467;
        exponential, integral of exp(-t/T) = T, 1
    Not covered: spikes at the start of a pulse
    Source: `definition`
    """
    if pulse_shape not in PULSE_SHAPES:
        raise BadInput("unknown_shape", f"pulse_shape is {pulse_shape!r}", field="pulse_shape")
    return number("GAUSSIAN_PULSE_FACTOR") if pulse_shape == "gaussian" else 1.0


def pulse_period_s(*, repetition_rate_hz: float) -> float:
    """Return the time from the start of one pulse to the start of the next.

    Parameters:
        repetition_rate_hz [Hz]: pulses a second
    Returns: period [s]
    Raises: BadInput if not above 0
    Valid for: evenly spaced pulses
    Equation: T = 1 / f
    Not covered: bursts, see gates
    Source: `iso11145`
    """
    require_above_zero(repetition_rate_hz=repetition_rate_hz)
    return 1 / repetition_rate_hz


def duty_cycle(*, pulse_duration_s: float, repetition_rate_hz: float) -> float:
    """Return the part of the time that pulses take.

    Parameters:
        pulse_duration_s [s]: as defined for the shape
        repetition_rate_hz [Hz]: pulses a second
    Returns: duty cycle [1]
    Raises: BadInput if not above 0
    Valid for: evenly spaced pulses
    Equation: D = tau f
    Not covered: pulses longer than their period, refused by the solver
    Source: `iso11145`
    """
    require_above_zero(pulse_duration_s=pulse_duration_s, repetition_rate_hz=repetition_rate_hz)
    return pulse_duration_s * repetition_rate_hz


def average_power_w(*, pulse_energy_j: float, repetition_rate_hz: float) -> float:
    """Return the average power of an endless pulse train.

    Parameters:
        pulse_energy_j [J]: energy of one pulse
        repetition_rate_hz [Hz]: pulses a second
    Returns: average power [W]
    Raises: BadInput if not above 0
    Valid for: any pulse shape
    Equation: P = E f
    Not covered: pauses of a gate, see gates
    Source: `iso11145`, checked against `suter2017`: 33 mJ at 140 Hz, 4.62 W
    """
    require_above_zero(pulse_energy_j=pulse_energy_j, repetition_rate_hz=repetition_rate_hz)
    return pulse_energy_j * repetition_rate_hz


def pulse_energy_j(*, peak_power_w: float, pulse_duration_s: float, shape_factor: float) -> float:
    """Return the energy of one pulse from its peak power.

    Parameters:
        peak_power_w [W]: highest power in the pulse
        pulse_duration_s [s]: as defined for the shape
        shape_factor [1]: from shape_factor
    Returns: pulse energy [J]
    Raises: BadInput if not above 0
    Valid for: complete pulses
    Equation: E = k P_peak tau
    Not covered: a pulse that the gate cuts, see gates
    Source: `iso11145`
    """
    require_above_zero(
        peak_power_w=peak_power_w, pulse_duration_s=pulse_duration_s, shape_factor=shape_factor
    )
    return shape_factor * peak_power_w * pulse_duration_s


def average_power_from_peak_w(
    *, peak_power_w: float, duty_cycle: float, shape_factor: float
) -> float:
    """Return the average power of an endless pulse train from its peak power.

    Parameters:
        peak_power_w [W]: highest power in the pulse
        duty_cycle [1]: pulse duration times repetition rate
        shape_factor [1]: from shape_factor
    Returns: average power [W]
    Raises: BadInput if not above 0
    Valid for: evenly spaced, complete pulses
    Equation: P = k P_peak D
    Not covered: pauses of a gate, see gates
    Source: `iso11145`
    """
    require_above_zero(peak_power_w=peak_power_w, duty_cycle=duty_cycle, shape_factor=shape_factor)
    return shape_factor * peak_power_w * duty_cycle


def off_time_s(*, pulse_period_s: float, pulse_duration_s: float) -> float:
    """Return the pause between two pulses.

    Parameters:
        pulse_period_s [s]: start of a pulse to the start of the next
        pulse_duration_s [s]: as defined for the shape
    Returns: pause [s], 0 where rounding would make it negative
    Raises: BadInput if not above 0
    Valid for: rectangular pulses; for others the pause at the stated width
    Equation: t_off = T - tau
    Not covered: the pause of a gate
    Source: `definition`
    """
    require_above_zero(pulse_period_s=pulse_period_s, pulse_duration_s=pulse_duration_s)
    return max(0.0, pulse_period_s - pulse_duration_s)


def continuous_peak_power_w(*, average_power_w: float) -> float:
    """Return the peak power of an emission without pulses or pauses.

    Parameters:
        average_power_w [W]: power of the steady emission
    Returns: peak power [W]
    Raises: BadInput if not above 0
    Valid for: continuous emission
    Equation: P_peak = P
    Not covered: ripple of the source
    Source: `iso11145`
    """
    require_above_zero(average_power_w=average_power_w)
    return average_power_w
