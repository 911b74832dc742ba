"""From the solved emission to the results of the contract, with spot, speed and time."""

from collections.abc import Mapping

from api.dose import delivery
from api.dose import exposure as x
from api.dose.constants import table
from api.dose.emitted import average_variable
from api.dose.request import DoseInput
from api.dose.solver import Known
from api.dose.tissue_results import Band, Result, tissue_results

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

_ON_SPOT = ("power_w", "spot_diameter_m")
_MOVING = ("spot_diameter_m", "speed_m_s")
# result, function, its arguments, and which result stands for power_w
_PLAN = (
    ("irradiance_mean", x.irradiance_mean_w_m2, _ON_SPOT, "average_power"),
    ("irradiance_peak", x.irradiance_peak_w_m2, _ON_SPOT, "average_power"),
    ("pulse_irradiance_mean", x.irradiance_mean_w_m2, _ON_SPOT, "peak_power"),
    ("pulse_irradiance_peak", x.irradiance_peak_w_m2, _ON_SPOT, "peak_power"),
    ("fluence_mean", x.fluence_mean_j_m2, ("pulse_energy_j", "spot_diameter_m"), ""),
    ("fluence_peak", x.fluence_peak_j_m2, ("pulse_energy_j", "spot_diameter_m"), ""),
    ("dwell_time", x.dwell_time_s, _MOVING, ""),
    ("pulses_per_spot", x.pulses_per_spot, ("repetition_rate_hz", *_MOVING), ""),
    ("overlap", x.overlap, ("repetition_rate_hz", *_MOVING), ""),
    ("line_energy", x.line_energy_j_m, ("power_w", "speed_m_s"), "average_power"),
    ("track_fluence_mean", x.track_fluence_mean_j_m2, ("power_w", *_MOVING), "average_power"),
    ("track_fluence_peak", x.track_fluence_peak_j_m2, ("power_w", *_MOVING), "average_power"),
    ("total_energy", x.total_energy_j, ("power_w", "emission_time_s"), "average_power"),
)


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


def _arguments(given: DoseInput, si: Mapping[str, float]) -> dict[str, float | None]:
    """Return what the functions of the plan can be given beside a power; None where not known.

    A steady train is needed for a rate along the track.
    """
    return {
        "pulse_energy_j": si.get("pulse_energy"),
        "repetition_rate_hz": si.get("repetition_rate") if given.mode == "pulsed" else None,
        "spot_diameter_m": given.spot_diameter_m,
        "speed_m_s": given.speed_m_s,
        "emission_time_s": given.emission_time_s,
    }


def _powers(given: DoseInput, si: Mapping[str, float]) -> dict[str, float | None]:
    """Return what may stand for ``power_w``; None where it is not known.

    A pause or pulse is needed for a peak power that differs from the average.
    """
    peak = None if given.mode == "continuous" else si.get("peak_power")
    return {"average_power": si.get("average_power"), "peak_power": peak}


def results_from(given: DoseInput, known: Mapping[str, Known]) -> dict[str, Result | Band]:
    """Return all results that can be worked out, in the contract's order."""
    variables = {"average_power": average_variable(given), **_EMITTED}
    emitted = {
        name: Result(known[variable].value, known[variable].formula)
        for name, variable in variables.items()
        if variable in known
    }
    found: dict[str, Result | Band] = dict(emitted)
    if given.spot is not None:
        found |= {name: Result(*value) for name, value in given.spot.values.items()}
    si = {name: result.value_si for name, result in emitted.items()}
    stock, powers = _arguments(given, si), _powers(given, si)
    for name, function, needs, power in _PLAN:
        chosen = {need: powers[power] if need == "power_w" else stock[need] for need in needs}
        if None not in chosen.values():
            formula = f"{function.__module__}.{function.__name__}"
            found[name] = Result(function(**chosen), formula)
    found |= tissue_results(given, found)
    return {name: found[name] for name in table()["results"] if name in found}


def as_quantity(name: str, result: Result | Band) -> dict[str, object]:
    """Return a result as the response carries it, a band with its two ends.

    The sources are those of the result, or of its function where that has its own.
    """
    entry = table()["results"][name]
    per_si = entry["per_si"]
    if isinstance(result, Band):
        size = {"low": result.low_si * per_si, "high": result.high_si * per_si}
    else:
        size = {"value": result.value_si * per_si}
    sources = table()["formula_sources"].get(result.formula, entry["sources"])
    note = {"note": entry["note"]} if "note" in entry else {}
    return {
        **size,
        "unit": entry["unit"],
        "formula": result.formula,
        "sources": [] if result.formula == "given" else list(sources),
        **note,
    }
