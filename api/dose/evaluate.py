"""Answer a dose request: what the settings mean, what arrives, what cannot be said and why."""

from collections.abc import Mapping

from api.dose.absence import absent_reasons
from api.dose.arrival import basis_of
from api.dose.constants import ENGINE_VERSION, table
from api.dose.display import format_number, format_value
from api.dose.emitted import refused_fields, solve_emission
from api.dose.notes import notes
from api.dose.request import DoseInput, parse
from api.dose.results import as_quantity
from api.dose.sides import delivered_side, panel_side
from api.dose.solver import Clash
from api.dose.steps import Results
from api.dose.uncertainty import intervals

__all__ = ["ENGINE_VERSION", "evaluate", "respond"]

# The result that a given variable of the solver is; each has the same unit there and in SI.
_SHOWN_AS = {
    "average_power_w": "average_power",
    "overall_power_w": "average_power",
    "peak_power_w": "peak_power",
    "pulse_energy_j": "pulse_energy",
    "pulse_duration_s": "pulse_duration",
    "repetition_rate_hz": "repetition_rate",
    "pulse_period_s": "pulse_period",
    "duty_cycle": "duty_cycle",
}


def _words(field: str) -> str:
    return field.removeprefix("emission.").replace("_", " ")


def _contradiction(clash: Clash) -> dict[str, object]:
    """Return a contradiction as the response carries it; ``by`` is relative, with its sign."""
    name = _SHOWN_AS[clash.variable]
    unit = table()["results"][name]["unit"]
    by = clash.given / clash.expected - 1
    others = " and ".join(_words(field) for field in clash.support)
    text = (
        f"{_words(clash.field)} is given as {format_value(name, clash.given)}, but {others} "
        f"{'give' if len(clash.support) > 1 else 'gives'} {format_value(name, clash.expected)}: "
        f"{format_number(abs(by) * 100)} % {'more' if by > 0 else 'less'}"
    )
    return {
        "fields": [*clash.support, clash.field],
        "given": {"value": clash.given, "unit": unit},
        "expected": {"value": clash.expected, "unit": unit},
        "by": by,
        "text": text,
    }


def _shown(results: Results) -> dict[str, object]:
    return {name: as_quantity(name, result) for name, result in results.items()}


def evaluate(given: DoseInput) -> dict[str, object]:
    """Return the response of the contract for a parsed request.

    Raises BadInput if the values need a pulse longer than its period.
    """
    known, clashes = solve_emission(given)
    panel = panel_side(given, known, refused=refused_fields(clashes))
    delivered = delivered_side(panel)
    stated = {"basis": basis_of(given.delivery), "verified_at": given.verified_at}
    return {
        "engine": ENGINE_VERSION,
        "dose": {
            "set": _shown(panel.results),
            "delivered": None if delivered is None else {**_shown(delivered.results), **stated},
        },
        "absent": absent_reasons(given, known=known, results=panel.results, clashes=clashes),
        "contradictions": [_contradiction(clash) for clash in clashes],
        "warnings": notes(given, panel.results),
        "intervals": intervals(panel, delivered),
    }


def respond(request: Mapping[str, object]) -> dict[str, object]:
    """Return the response of the contract for a request as JSON carries it.

    Raises BadInput (code ``bad_request``) with what is wrong by field path.
    """
    return evaluate(parse(request))
