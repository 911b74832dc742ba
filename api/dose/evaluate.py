"""Answer a dose request: what the settings mean, what arrives, what cannot be said and why."""

from collections.abc import Mapping

from api.dose.absence import absent_reasons
from api.dose.constants import ENGINE_VERSION, table
from api.dose.display import format_number, format_value
from api.dose.emitted import solve_emission
from api.dose.request import DoseInput, parse
from api.dose.results import Result, as_quantity, delivered_values, results_from
from api.dose.solver import Clash, Known
from api.dose.spot import TIP

__all__ = ["ENGINE_VERSION", "evaluate", "respond"]

NO_RATIO = "no power verification is given: what arrives at the tissue is not known"
KEEP_PANEL = "do not raise the panel to make up for a low ratio; follow the maker's instructions"
UNUSED = "the panel's power is not used: it is not stated whether it is average or peak"
GAPS = "the spots do not touch: fluence along the track is an average over spots and gaps"
TIP_BOUND = (
    "the spot is a lower bound: it is that of the bore's lowest mode, and a real waveguide carries "
    "wider ones; irradiance and fluence are lower than shown if the spot is wider"
)
GATE_GAPS = "the spot moves on while the gate is shut: fluence along the track is an average"

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


def _delivered(given: DoseInput, known: Mapping[str, Known]) -> dict[str, object] | None:
    """Return the delivered side, or None without a verified ratio."""
    if given.verified_ratio is None:
        return None
    at_tissue = delivered_values(known, verified_ratio=given.verified_ratio)
    side: dict[str, object] = {
        name: as_quantity(name, result) for name, result in results_from(given, at_tissue).items()
    }
    ratio = Result(given.verified_ratio, "given")
    side["delivered_fraction"] = as_quantity("delivered_fraction", ratio)
    side["basis"] = "verified"
    side["verified_at"] = given.verified_at
    if given.verified_ratio_uncertainty is not None:
        uncertainty = Result(given.verified_ratio_uncertainty, "given")
        side["verified_ratio_uncertainty"] = as_quantity("verified_ratio_uncertainty", uncertainty)
    return side


def _warnings(given: DoseInput, results: Mapping[str, Result]) -> list[dict[str, object]]:
    """Return what a person has to know beside the numbers."""
    if given.verified_ratio is None:
        found = [("not_verified", NO_RATIO)]
    else:
        found = [("keep_panel", KEEP_PANEL)]
    unstated = given.mode != "continuous" and given.power_kind == "not stated"
    if unstated and "power" in given.emission:
        found.append(("power_kind_not_stated", UNUSED))
    if "overlap" in results and results["overlap"].value_si < 0:
        found.append(("gaps", GAPS))
    if given.mode == "gated" and "track_fluence_mean" in results:
        moved_m = given.emission.get("gate_off", 0.0) * (given.speed_m_s or 0.0)
        if moved_m > (given.spot_diameter_m or 0.0):
            found.append(("gate_gaps", GATE_GAPS))
    notes = [{"code": code, "text": text, "sources": []} for code, text in found]
    if given.spot is not None and given.spot.form == TIP:
        notes.append({"code": "tip_lower_bound", "text": TIP_BOUND, "sources": ["abrams1972"]})
    return notes


def evaluate(given: DoseInput) -> dict[str, object]:
    """Return the response of the contract for a parsed request.

    Raises BadInput if the values need a pulse longer than its period.
    """
    known, clashes = solve_emission(given)
    results = results_from(given, known)
    return {
        "engine": ENGINE_VERSION,
        "dose": {
            "set": {name: as_quantity(name, result) for name, result in results.items()},
            "delivered": _delivered(given, known),
        },
        "absent": absent_reasons(given, known=known, results=results, clashes=clashes),
        "contradictions": [_contradiction(clash) for clash in clashes],
        "warnings": _warnings(given, results),
    }


def respond(request: Mapping[str, object]) -> dict[str, object]:
    """Return the response of the contract for a request as JSON carries it.

    Raises BadInput (code ``bad_request``) with what is wrong by field path.
    """
    return evaluate(parse(request))
