"""From the solved emission to the results of the contract, with spot, speed and time.

A dose is worked out several times over: for the set and for the delivered power, and with one input
a little different for its uncertainty. A step that gets the arguments it had before gives the
result it gave.
"""

from collections.abc import Callable, Mapping
from functools import cache
from typing import NamedTuple

from api.dose import delivery
from api.dose import exposure as x
from api.dose.constants import table
from api.dose.emitted import average_variable
from api.dose.request import DoseInput
from api.dose.solver import Known
from api.dose.steps import Band, Result, Results, Steps
from api.dose.tissue_results import tissue_results

_EMITTED = {
    "peak_power": "peak_power_w",
    "pulse_energy": "pulse_energy_j",
    "pulse_duration": "pulse_duration_s",
    "repetition_rate": "repetition_rate_hz",
    "pulse_period": "pulse_period_s",
    "duty_cycle": "duty_cycle",
    "off_time": "off_time_s",
    "pulses_started_per_gate": "pulses_started",
    "pulses_complete_per_gate": "pulses_complete",
    "gate_energy": "gate_energy_j",
}
_POWERS = ("average_power_w", "overall_power_w", "peak_power_w")
_ENERGIES = ("pulse_energy_j", "gate_energy_j")


class _Step(NamedTuple):
    """A result, its function, and for each argument which of the stock it is."""

    result: str
    function: Callable[..., float]
    formula: str
    needs: tuple[tuple[str, str], ...]


def _step(result: str, function: Callable[..., float], *needs: str, power: str = "") -> _Step:
    """Return a step of the plan; ``power`` is which power its ``power_w`` is."""
    formula = f"{function.__module__}.{function.__name__}"
    pairs = tuple((need, power if need == "power_w" else need) for need in needs)
    return _Step(result, function, formula, pairs)


_ON_SPOT = ("power_w", "spot_diameter_m")
_PULSE_ON_SPOT = ("pulse_energy_j", "spot_diameter_m")
_MOVING = ("spot_diameter_m", "speed_m_s")
_RATE_MOVING = ("repetition_rate_hz", *_MOVING)
_POWER_MOVING = ("power_w", *_MOVING)
_AVERAGE, _PEAK = "average_power", "peak_power"
_PLAN = (
    _step("irradiance_mean", x.irradiance_mean_w_m2, *_ON_SPOT, power=_AVERAGE),
    _step("irradiance_peak", x.irradiance_peak_w_m2, *_ON_SPOT, power=_AVERAGE),
    _step("pulse_irradiance_mean", x.irradiance_mean_w_m2, *_ON_SPOT, power=_PEAK),
    _step("pulse_irradiance_peak", x.irradiance_peak_w_m2, *_ON_SPOT, power=_PEAK),
    _step("fluence_mean", x.fluence_mean_j_m2, *_PULSE_ON_SPOT),
    _step("fluence_peak", x.fluence_peak_j_m2, *_PULSE_ON_SPOT),
    _step("dwell_time", x.dwell_time_s, *_MOVING),
    _step("pulses_per_spot", x.pulses_per_spot, *_RATE_MOVING),
    _step("overlap", x.overlap, *_RATE_MOVING),
    _step("line_energy", x.line_energy_j_m, "power_w", "speed_m_s", power=_AVERAGE),
    _step("track_fluence_mean", x.track_fluence_mean_j_m2, *_POWER_MOVING, power=_AVERAGE),
    _step("track_fluence_peak", x.track_fluence_peak_j_m2, *_POWER_MOVING, power=_AVERAGE),
    _step("total_energy", x.total_energy_j, "power_w", "emission_time_s", power=_AVERAGE),
)


def _fed_by(*names: str) -> frozenset[str]:
    """Return the results of the plan that one of these goes into."""
    return frozenset(step.result for step in _PLAN if any(name in names for _, name in step.needs))


# What changes with the diameter at the tissue, and with the power that arrives there.
ON_SPOT = _fed_by("spot_diameter_m") | {"pulse_depth", "cut_depth"}
ON_POWER = _fed_by(_AVERAGE, _PEAK, "pulse_energy_j") | {
    _AVERAGE, _PEAK, "pulse_energy", "gate_energy", "pulse_depth", "cut_depth",
}  # fmt: skip


def delivered_values(known: Mapping[str, Known], *, fraction: float) -> dict[str, Known]:
    """Return the emission at the tissue: powers and energies times the delivered fraction."""
    result = dict(known)
    for name, entry in known.items():
        if name in _POWERS:
            value = delivery.delivered_power_w(set_power_w=entry.value, delivered_fraction=fraction)
            result[name] = Known(value, "api.dose.delivery.delivered_power_w", entry.support)
        elif name in _ENERGIES:
            value = delivery.delivered_energy_j(
                set_energy_j=entry.value, delivered_fraction=fraction
            )
            result[name] = Known(value, "api.dose.delivery.delivered_energy_j", entry.support)
    return result


def emitted_results(given: DoseInput, known: Mapping[str, Known]) -> dict[str, Result]:
    """Return the results on the emission."""
    variables = {"average_power": average_variable(given), **_EMITTED}
    return {
        name: Result(known[variable].value, known[variable].formula)
        for name, variable in variables.items()
        if variable in known
    }


def _stock(given: DoseInput, emitted: Results) -> dict[str, float]:
    """Return what the steps of the plan can be given, as far as it is known.

    A steady train is needed for a rate along the track, and a pause or pulse for a peak power that
    differs from the average.
    """

    def value(name: str) -> float | None:
        return emitted[name].value_si if name in emitted else None

    stock = {
        _AVERAGE: value("average_power"),
        _PEAK: None if given.mode == "continuous" else value("peak_power"),
        "pulse_energy_j": value("pulse_energy"),
        "repetition_rate_hz": value("repetition_rate") if given.mode == "pulsed" else None,
        "spot_diameter_m": given.spot_diameter_m,
        "speed_m_s": given.speed_m_s,
        "emission_time_s": given.emission_time_s,
    }
    return {name: known for name, known in stock.items() if known is not None}


@cache
def _possible(known: frozenset[str]) -> tuple[_Step, ...]:
    """Return the steps of the plan for which everything is known."""
    return tuple(step for step in _PLAN if known.issuperset(name for _, name in step.needs))


def work_out(
    given: DoseInput, emitted: Mapping[str, Result], steps: Steps
) -> dict[str, Result | Band]:
    """Return all results that can be worked out with this emission, in no order of meaning."""
    found: dict[str, Result | Band] = dict(emitted)
    if given.spot is not None:
        found |= given.spot.values
    stock = _stock(given, emitted)
    for result, function, formula, needs in _possible(frozenset(stock)):
        arguments = {need: stock[name] for need, name in needs}
        found[result] = steps.result(result, formula, function, arguments)
    found |= tissue_results(given, found, steps)
    return found


def results_from(given: DoseInput, known: Mapping[str, Known]) -> dict[str, Result | Band]:
    """Return all results that can be worked out, in the contract's order."""
    return in_order(work_out(given, emitted_results(given, known), Steps()))


def in_order(found: Results) -> dict[str, Result | Band]:
    """Return results in the contract's order."""
    return {name: found[name] for name in table()["results"] if name in found}


@cache
def _beside(name: str, formula: str) -> tuple[float, Mapping[str, object]]:
    """Return a result's number by SI, and what stands beside its value in a response."""
    entry = table()["results"][name]
    sources = table()["formula_sources"].get(formula, entry["sources"])
    beside = {
        "unit": entry["unit"],
        "formula": formula,
        "sources": () if formula == "given" else tuple(sources),
    }
    return entry["per_si"], beside | ({"note": entry["note"]} if "note" in entry else {})


def as_quantity(name: str, result: Result | Band) -> dict[str, object]:
    """Return a result as the response carries it, a band with its two ends.

    The sources are those of the result, or of its function where that has its own.
    """
    per_si, beside = _beside(name, result.formula)
    if isinstance(result, Band):
        shown = {"low": result.low_si * per_si, "high": result.high_si * per_si, **beside}
    else:
        shown = {"value": result.value_si * per_si, **beside}
    shown["sources"] = list(beside["sources"])
    return shown
