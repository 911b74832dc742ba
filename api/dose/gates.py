"""Bursts: an emission that a gate opens and shuts, continuous or pulsed inside.

The pulse train starts anew when each gate opens. A pulse due at the gate's end is not started
(tolerance 1e-9 of a period); the one that is running then is cut.
"""

from math import ceil

from api.dose.constants import number
from api.dose.ranges import require_above_zero, require_not_negative


def _periods_per_gate(gate_on_s: float, repetition_rate_hz: float) -> tuple[float, float]:
    """Return the gate's length in pulse periods and the tolerance at that length."""
    periods = gate_on_s * repetition_rate_hz
    scale = max(1.0, periods / number("PULSES_HELD_EXACTLY"))
    return periods, number("PERIOD_TOLERANCE") * scale


def pulses_started_per_gate(*, gate_on_s: float, repetition_rate_hz: float) -> float:
    """Return how many pulses start while a gate is open.

    Parameters:
        gate_on_s [s]: how long the gate is open
        repetition_rate_hz [Hz]: pulses a second while it is open
    Returns: count [1], at least 1
    Raises: BadInput if not above 0
    Valid for: a train that starts with the gate
    Equation: n = ceil(t_on f - 1e-9)
    Not covered: a free-running train behind a shutter
    Source: `definition`
    """
    require_above_zero(gate_on_s=gate_on_s, repetition_rate_hz=repetition_rate_hz)
    periods, tolerance = _periods_per_gate(gate_on_s, repetition_rate_hz)
    return float(max(1, ceil(periods - tolerance)))


def _room_in_periods(gate_on_s: float, repetition_rate_hz: float) -> tuple[float, float, float]:
    """Return pulses started, the room the last one has in periods, and the tolerance."""
    started = pulses_started_per_gate(gate_on_s=gate_on_s, repetition_rate_hz=repetition_rate_hz)
    periods, tolerance = _periods_per_gate(gate_on_s, repetition_rate_hz)
    return started, periods - (started - 1), tolerance


def _extent_in_durations(pulse_shape: str) -> float:
    if pulse_shape == "triangular":
        return number("TRIANGULAR_EXTENT")
    if pulse_shape == "gaussian":
        return number("GAUSSIAN_EXTENT")
    if pulse_shape == "exponential":
        return number("EXPONENTIAL_EXTENT")
    return 1.0


def pulses_complete_per_gate(
    *, gate_on_s: float, repetition_rate_hz: float, duty_cycle: float, pulse_shape: str
) -> float:
    """Return how many pulses of a gate are not cut by its end.

    Parameters:
        gate_on_s [s]: how long the gate is open
        repetition_rate_hz [Hz]: pulses a second while it is open
        duty_cycle [1]: pulse duration times repetition rate
        pulse_shape [text]: as in emission.shape_factor
    Returns: count [1]
    Raises: BadInput if a number is not above 0
    Valid for: a train that starts with the gate
    Equation: n if the last pulse has room for its extent or for a whole period, else n - 1;
        extent: 1 duration (rectangular), 2 (triangular, its base), 3 (gaussian), 7 (exponential)
    Not covered: tails longer than the extent
    Source: `definition`, extents of gaussian and exponential `practice`
    """
    require_above_zero(duty_cycle=duty_cycle)
    started, room, tolerance = _room_in_periods(gate_on_s, repetition_rate_hz)
    extent = min(1.0, _extent_in_durations(pulse_shape) * duty_cycle)
    return started if room >= extent - tolerance else started - 1


def pulse_equivalents_per_gate(
    *, gate_on_s: float, repetition_rate_hz: float, duty_cycle: float, pulse_shape: str
) -> float | None:
    """Return a gate's energy in units of the energy of one complete pulse.

    Parameters:
        gate_on_s [s]: how long the gate is open
        repetition_rate_hz [Hz]: pulses a second while it is open
        duty_cycle [1]: pulse duration times repetition rate
        pulse_shape [text]: as in emission.shape_factor
    Returns: count [1], or None if a pulse that is not rectangular is cut
    Raises: BadInput if a number is not above 0
    Valid for: a train that starts with the gate
    Equation: n_complete + (room for the last, in periods) / D
    Not covered: how a triangular, gaussian or exponential pulse is cut
    Source: `definition`
    """
    complete = pulses_complete_per_gate(
        gate_on_s=gate_on_s,
        repetition_rate_hz=repetition_rate_hz,
        duty_cycle=duty_cycle,
        pulse_shape=pulse_shape,
    )
    started, room, _ = _room_in_periods(gate_on_s, repetition_rate_hz)
    if complete == started:
        return started
    if pulse_shape != "rectangular":
        return None
    return (started - 1) + room / duty_cycle


def whole_pulses_per_gate(*, gate_on_s: float, repetition_rate_hz: float) -> float | None:
    """Return the pulses of a gate that is open for a whole number of periods.

    Parameters:
        gate_on_s [s]: how long the gate is open
        repetition_rate_hz [Hz]: pulses a second while it is open
    Returns: count [1], or None if the gate ends within a period
    Raises: BadInput if not above 0
    Valid for: any pulse not longer than its period; its duration need not be known
    Equation: n = t_on f
    Not covered: gates that end within a period
    Source: `definition`
    """
    started, room, tolerance = _room_in_periods(gate_on_s, repetition_rate_hz)
    return started if room >= 1 - tolerance else None


def gate_energy_j(*, pulse_energy_j: float, pulse_equivalents: float) -> float:
    """Return the energy emitted while a gate is open.

    Parameters:
        pulse_energy_j [J]: energy of one complete pulse
        pulse_equivalents [1]: from pulse_equivalents_per_gate
    Returns: energy of a gate [J]
    Raises: BadInput if not above 0
    Valid for: a pulsed emission inside the gate
    Equation: E_gate = E n_eq
    Not covered: continuous emission, see continuous_gate_energy_j
    Source: `definition`
    """
    require_above_zero(pulse_energy_j=pulse_energy_j, pulse_equivalents=pulse_equivalents)
    return pulse_energy_j * pulse_equivalents


def pulse_energy_from_gate_j(*, gate_energy_j: float, pulse_equivalents: float) -> float:
    """Return the energy of one complete pulse from the energy of a gate.

    Parameters:
        gate_energy_j [J]: energy of a gate
        pulse_equivalents [1]: from pulse_equivalents_per_gate
    Returns: pulse energy [J]
    Raises: BadInput if not above 0
    Valid for: a pulsed emission inside the gate
    Equation: E = E_gate / n_eq
    Not covered: pulses of unequal energy
    Source: `definition`
    """
    require_above_zero(gate_energy_j=gate_energy_j, pulse_equivalents=pulse_equivalents)
    return gate_energy_j / pulse_equivalents


def continuous_gate_energy_j(*, peak_power_w: float, gate_on_s: float) -> float:
    """Return the energy of a gate through which a continuous beam passes.

    Parameters:
        peak_power_w [W]: power while the gate is open
        gate_on_s [s]: how long the gate is open
    Returns: energy of a gate [J]
    Raises: BadInput if not above 0
    Valid for: continuous emission inside the gate
    Equation: E_gate = P t_on
    Not covered: rise time of the gate
    Source: `definition`
    """
    require_above_zero(peak_power_w=peak_power_w, gate_on_s=gate_on_s)
    return peak_power_w * gate_on_s


def peak_power_from_gate_w(*, gate_energy_j: float, gate_on_s: float) -> float:
    """Return the power while the gate is open from the energy of a gate.

    Parameters:
        gate_energy_j [J]: energy of a gate
        gate_on_s [s]: how long the gate is open
    Returns: power [W]
    Raises: BadInput if not above 0
    Valid for: continuous emission inside the gate
    Equation: P = E_gate / t_on
    Not covered: rise time of the gate
    Source: `definition`
    """
    require_above_zero(gate_energy_j=gate_energy_j, gate_on_s=gate_on_s)
    return gate_energy_j / gate_on_s


def overall_power_w(*, gate_energy_j: float, gate_on_s: float, gate_off_s: float) -> float:
    """Return the average power over gate and pause.

    Parameters:
        gate_energy_j [J]: energy of a gate
        gate_on_s [s]: how long the gate is open
        gate_off_s [s]: how long it is shut
    Returns: average power [W]
    Raises: BadInput if out of range
    Valid for: any emission inside the gate
    Equation: P = E_gate / (t_on + t_off)
    Not covered: the first and last gate of an emission
    Source: `definition`
    """
    require_above_zero(gate_energy_j=gate_energy_j, gate_on_s=gate_on_s)
    require_not_negative(gate_off_s=gate_off_s)
    return gate_energy_j / (gate_on_s + gate_off_s)


def gate_energy_from_overall_j(
    *, overall_power_w: float, gate_on_s: float, gate_off_s: float
) -> float:
    """Return the energy of a gate from the average power over gate and pause.

    Parameters:
        overall_power_w [W]: average power over gate and pause
        gate_on_s [s]: how long the gate is open
        gate_off_s [s]: how long it is shut
    Returns: energy of a gate [J]
    Raises: BadInput if out of range
    Valid for: any emission inside the gate
    Equation: E_gate = P (t_on + t_off)
    Not covered: the first and last gate of an emission
    Source: `definition`
    """
    require_above_zero(overall_power_w=overall_power_w, gate_on_s=gate_on_s)
    require_not_negative(gate_off_s=gate_off_s)
    return overall_power_w * (gate_on_s + gate_off_s)
