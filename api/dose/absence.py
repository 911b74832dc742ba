"""Why a result is not there: the reason a person can act on, one for each missing result."""

from collections.abc import Mapping
from functools import lru_cache

from api.dose.constants import table
from api.dose.emitted import has_pulses, solve_regardless
from api.dose.request import DoseInput
from api.dose.results import results_from
from api.dose.solver import Clash, Known
from api.dose.spot import DIAMETER, LENS
from api.dose.steps import Results
from api.dose.tissue_results import pulse_limit, tissue_lacks

NO_OPTICS = "the spot is stated by its diameter, which says nothing about the waist of the beam"
NO_WAIST = "no lens, waist or waveguide tip is stated"
NO_LENS = "no lens is stated from which the distance to the waist would count"
NO_GATE = "the emission is not gated"
NO_PULSES = "the emission has no pulses"
NOT_STEADY = "the emission is gated: it depends on where the gates fall along the track"
NO_SPOT = "no spot diameter is stated"
NO_SPEED = "no speed is stated"
NO_TIME = "no emission time is stated"
CONTRADICTED = "depends on values that contradict each other"
NOT_STATED = "it is not stated whether the power is average or peak"
CUT = "the gate cuts the last pulse, and how a pulse of this shape is cut is not known"
NOT_ENOUGH = "not enough is given to work it out"


def _lacking(given: DoseInput) -> tuple[tuple[str, str], ...]:
    """Return what kinds of result this kind of request cannot have, with the reason of each."""
    ungated = given.mode != "gated"
    kinds = (
        ("optics", given.spot is None, NO_WAIST),
        ("optics", given.spot is not None and given.spot.form == DIAMETER, NO_OPTICS),
        ("lens", given.spot is not None and given.spot.form != LENS, NO_LENS),
        ("gate", ungated, NO_GATE),
        ("pulses", not has_pulses(given), NO_PULSES),
        ("pulse", given.mode == "continuous", NO_PULSES),
        ("steady", not ungated, NOT_STEADY),
        ("spot", given.spot is None, NO_SPOT),
        ("motion", given.speed_m_s is None, NO_SPEED),
        ("time", given.emission_time_s is None, NO_TIME),
    )
    return tuple((need, reason) for need, lacks, reason in kinds if lacks)


@lru_cache(maxsize=256)
def _by_kind(lacking: tuple[tuple[str, str], ...]) -> Mapping[str, str | None]:
    """Return for each result the reason for which no request of this kind can have it, or None."""
    return {
        name: next((words for need, words in lacking if need in entry["needs"].split()), None)
        for name, entry in table()["results"].items()
        if entry["needs"] != "verification"
    }


def absent_reasons(
    given: DoseInput,
    *,
    known: Mapping[str, Known],
    results: Results,
    clashes: list[Clash],
) -> dict[str, str]:
    """Return {result name: reason} for every result that is not there, in the contract's order."""

    def reachable(power_kind: str) -> Results:
        return results_from(given, solve_regardless(given, power_kind=power_kind))

    with_clashes = reachable(given.power_kind) if clashes else {}
    unstated = "power" in given.emission and given.power_kind == "not stated"
    with_power = reachable("average") if unstated and given.mode != "continuous" else {}
    # Known where whole pulses fill the gate, and for a rectangular pulse that the gate cuts.
    cut = "pulses_complete" in known and "pulse_equivalents" not in known
    by_kind, on_tissue = _by_kind(_lacking(given)), tissue_lacks(given)
    reasons = {}
    for name, of_kind in by_kind.items():
        if name in results:
            continue
        reason = on_tissue.get(name) or of_kind
        if reason is None and name in with_clashes:
            reason = CONTRADICTED
        if reason is None and name in with_power:
            reason = NOT_STATED
        if reason is None and name == "pulse_depth":
            reason = pulse_limit(given, results)
        if reason is None:
            reason = CUT if cut else NOT_ENOUGH
        reasons[name] = reason
    return reasons
