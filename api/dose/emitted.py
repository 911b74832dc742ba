"""From a request's emission to all values that follow from it, by the solver."""

from collections.abc import Mapping

from api.dose import solver
from api.dose.constants import number
from api.dose.emission import duty_cycle, shape_factor
from api.dose.emission_inverse import repetition_rate_hz
from api.dose.request import DoseInput, refuse
from api.dose.schema import POWERS, PULSES
from api.dose.solver import Clash, Given, Known, Rule

# The order in which given values are taken, with the solver's variable. Powers come last, so that
# the panel's power is what a contradiction compares with the rest.
_ORDER = {
    "gate_on": "gate_on_s",
    "gate_off": "gate_off_s",
    "repetition_rate": "repetition_rate_hz",
    "pulse_period": "pulse_period_s",
    "pulse_duration": "pulse_duration_s",
    "duty_cycle": "duty_cycle",
    "pulse_energy": "pulse_energy_j",
    "peak_power": "peak_power_w",
    "average_power": "average_power_w",
    "power": None,
}
LONG_PULSE = "a pulse cannot be longer than its period"
HIGH_AVERAGE = "the average power cannot be above the peak power"


def has_pulses(given: DoseInput) -> bool:
    """Return whether the emission is a pulse train, gated or not."""
    return given.mode == "pulsed" or (
        given.mode == "gated" and any(name in given.emission for name in PULSES)
    )


def average_variable(given: DoseInput) -> str:
    """Return the solver's variable for the average power that a panel shows."""
    return "overall_power_w" if given.mode == "gated" else "average_power_w"


def rules_for(given: DoseInput) -> tuple[Rule, ...]:
    """Return the relations that hold for the emission's mode."""
    if given.mode == "continuous":
        return solver.CONTINUOUS_RULES
    if given.mode == "pulsed":
        return solver.TRAIN_RULES
    return solver.GATED_TRAIN_RULES if has_pulses(given) else solver.GATED_CONTINUOUS_RULES


def settled_values(given: DoseInput) -> dict[str, float | str]:
    """Return what the solver needs besides quantities: the pulse shape and its factor."""
    return {
        "shape_factor": shape_factor(pulse_shape=given.pulse_shape),
        "pulse_shape": given.pulse_shape,
    }


def given_values(given: DoseInput, *, power_kind: str) -> list[Given]:
    """Return the stated values as the solver's variables, in the order they are taken.

    A panel's power whose kind is not stated is left out: nothing may be worked out from it.
    """
    values = []
    for name, usual in _ORDER.items():
        if name not in given.emission:
            continue
        variable = usual
        if name == "power":
            kinds = {"average": average_variable(given), "peak": "peak_power_w"}
            variable = kinds.get(power_kind)
        elif name == "average_power":
            variable = average_variable(given)
        if given.mode == "continuous" and name in POWERS:
            variable = "average_power_w"
        if variable is not None:
            values.append(Given(variable, f"emission.{name}", given.emission[name]))
    return values


def _refuse_long_pulse(duty: float, fields: tuple[str, ...]) -> None:
    if duty > 1 + number("PERIOD_TOLERANCE"):
        raise refuse({field: [LONG_PULSE] for field in fields})


def _refuse_impossible(known: Mapping[str, Known]) -> None:
    """Raise if a pulse would be longer than its period, or the average above the peak."""
    duty = known.get("duty_cycle")
    if duty is not None:
        _refuse_long_pulse(duty.value, duty.support)
    mean, peak = known.get("overall_power_w"), known.get("peak_power_w")
    most = number("GAUSSIAN_PULSE_FACTOR") * (1 + number("CONTRADICTION_TOLERANCE"))
    if mean is not None and peak is not None and mean.value > most * peak.value:
        raise refuse({field: [HIGH_AVERAGE] for field in (*mean.support, *peak.support)})


def _refuse_stated_long_pulse(values: list[Given]) -> None:
    """Raise if the stated duration is longer than a stated period, whatever else collides."""
    stated = {item.variable: item for item in values}
    duration = stated.get("pulse_duration_s")
    if duration is None:
        return
    for variable in ("repetition_rate_hz", "pulse_period_s"):
        if (other := stated.get(variable)) is None:
            continue
        rate = other.value
        if variable == "pulse_period_s":
            rate = repetition_rate_hz(pulse_period_s=other.value)
        duty = duty_cycle(pulse_duration_s=duration.value, repetition_rate_hz=rate)
        _refuse_long_pulse(duty, (duration.field, other.field))


def refused_fields(clashes: list[Clash]) -> frozenset[str]:
    """Return the fields of which nothing may be worked out, as they contradict each other."""
    return frozenset(field for clash in clashes for field in (*clash.support, clash.field))


def solve_emission(given: DoseInput) -> tuple[dict[str, Known], list[Clash]]:
    """Return what follows from the request, and the given values that collide.

    Raises BadInput if a pulse would be longer than its period.
    """
    values = given_values(given, power_kind=given.power_kind)
    _refuse_stated_long_pulse(values)
    rules, settled = rules_for(given), settled_values(given)
    taken = solver.take(rules=rules, given=values, settled=settled)
    if taken.clashes:
        known = solve_again(given, refused=refused_fields(taken.clashes))
    else:
        known = solver.solved(rules=rules, given=values, taken=taken, settled=settled)
    _refuse_impossible(known)
    return known, taken.clashes


def solve_again(given: DoseInput, *, refused: frozenset[str]) -> dict[str, Known]:
    """Return what follows from the request without the refused fields, whatever it may be."""
    return solver.solve(
        rules=rules_for(given),
        given=given_values(given, power_kind=given.power_kind),
        settled=settled_values(given),
        refused=refused,
    )


def solve_regardless(given: DoseInput, *, power_kind: str) -> dict[str, Known]:
    """Return what would follow if nothing collided and the power were of this kind.

    Only to tell why a result is absent; its numbers are never shown.
    """
    return solver.solve(
        rules=rules_for(given),
        given=given_values(given, power_kind=power_kind),
        settled=settled_values(given),
        refused=frozenset(),
    )
