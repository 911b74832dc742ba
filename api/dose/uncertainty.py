"""Intervals of results from the stated uncertainties of their inputs, by first-order propagation.

u(y)^2 = sum of (dy/dx_i u(x_i))^2 over independent inputs, each derivative by a small difference of
the whole engine, so that no formula has a second home. What counts as an input that must have a
stated uncertainty is the delivery, the spot and the tissue; the emission, speed and time are taken
as set unless an uncertainty is stated for them too.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from math import sqrt

from api.dose.arrival import delivered_fraction, stated_beside
from api.dose.constants import number, table
from api.dose.emitted import solve_again
from api.dose.request import DoseInput, settle, value_at, with_value
from api.dose.results import delivered_values, results_from
from api.dose.schema import CHAIN, EXACT
from api.dose.solver import Known
from api.dose.tissue_results import Band, Result, tissue_results

NOT_STATED = "not stated"
# May be negative: gaps between the spots.
_SIGNED = ("overlap",)
Results = Mapping[str, Result | Band]


@dataclass(frozen=True)
class _Side:
    """One side of a dose, which can be worked out again with one input changed."""

    given: DoseInput
    known: Mapping[str, Known]
    refused: frozenset[str]
    delivered: bool

    def results(self) -> Results:
        fraction = delivered_fraction(self.given) if self.delivered else None
        if fraction is None:
            return results_from(self.given, self.known)
        known = delivered_values(self.known, fraction=fraction.value_si)
        return {**results_from(self.given, known), **stated_beside(self.given)}

    def moved(self, path: str, value: float, unmoved: Results) -> Results:
        """Return the results that may depend on the input, with another value of it."""
        part, _, name = path.rpartition(".")
        if part == "tissue":
            # Nothing but the results on tissue rests on it.
            tissue = {**self.given.tissue, name: value}
            return tissue_results(replace(self.given, tissue=tissue), unmoved)
        changed = settle(with_value(self.given.stated, path, value), self.given.uncertainty)
        known = self.known
        if path.startswith("emission."):
            known = solve_again(changed, refused=self.refused)
        return replace(self, given=changed, known=known).results()


def _counted_paths(side: _Side) -> list[str]:
    """Return the inputs whose uncertainty must be stated, part by part."""
    given = side.given
    delivery: tuple[str, ...] = ()
    if side.delivered:
        used = ("verified_ratio",) if "verified_ratio" in given.delivery else CHAIN
        delivery = tuple(name for name in used if name in given.delivery)
    parts = {"delivery": delivery, "spot": given.stated.get("spot", {}), "tissue": given.tissue}
    paths = [f"{part}.{name}" for part, names in parts.items() for name in names]
    return [path for path in paths if path in table()["quantities"] and path not in EXACT]


def _ends(result: Result | Band) -> tuple[float, float]:
    if isinstance(result, Band):
        return result.low_si, result.high_si
    return result.value_si, result.value_si


def _around(given: DoseInput, path: str) -> tuple[float, float]:
    """Return the two values between which the derivative is taken, inside the field's range."""
    value = value_at(given.stated, path)
    limits = table()["quantities"][path]
    step = number("DIFFERENCE_STEP") * (abs(value) or given.uncertainty.get(path, 0.0))
    low = max(value - step, min(limits["least"], value))
    return low, min(value + step, max(limits["most"], value))


def _slopes(side: _Side, path: str, unmoved: Results) -> dict[str, tuple[float, float]]:
    """Return {result: derivatives of its two ends} for the results that depend on this input.

    Where no uncertainty is stated only the dependence matters, and one side of the difference does.
    """
    value = value_at(side.given.stated, path)
    low, high = _around(side.given, path)
    if path not in side.given.uncertainty:
        low, high = (low, value) if low < value else (value, high)
    if low == high:
        return {}
    before = unmoved if low == value else side.moved(path, low, unmoved)
    after = unmoved if high == value else side.moved(path, high, unmoved)
    slopes = {}
    for name, result in before.items():
        if name in after:
            pairs = zip(_ends(result), _ends(after[name]), strict=True)
            found = tuple(right - left for left, right in pairs)
            if any(found):
                slopes[name] = tuple(part / (high - low) for part in found)
    return slopes


def _interval(name: str, result: Result | Band, variances: list[float]) -> dict[str, object]:
    entry = table()["results"][name]
    below, above = (number("COVERAGE_FACTOR") * sqrt(variance) for variance in variances)
    low, high = _ends(result)
    least = low - below if name in _SIGNED else max(low - below, 0.0)
    per_si = entry["per_si"]
    return {"low": least * per_si, "high": (high + above) * per_si, "unit": entry["unit"]}


def _side_intervals(side: _Side) -> dict[str, object]:
    """Return {result: interval or "not stated"}; results without an input that counts, none."""
    uncertainty = side.given.uncertainty
    unmoved = side.results()
    counted = _counted_paths(side)
    others = [p for p in uncertainty if p not in counted and not p.startswith("delivery.")]
    variances: dict[str, list[float]] = {}
    unstated: set[str] = set()
    for path in (*counted, *others):
        for name, slopes in _slopes(side, path, unmoved).items():
            if path not in uncertainty:
                unstated.add(name)
            sums = variances.setdefault(name, [0.0, 0.0])
            for end, slope in enumerate(slopes):
                part = slope * uncertainty.get(path, 0.0)
                sums[end] += part * part
    whole = table()["display"]["whole"]
    return {
        name: NOT_STATED if name in unstated else _interval(name, result, variances[name])
        for name, result in unmoved.items()
        if name in variances and name not in whole
    }


def intervals(
    given: DoseInput, known: Mapping[str, Known], *, refused: frozenset[str]
) -> dict[str, object]:
    """Return the intervals of a response: of the set dose, and of the delivered one or None.

    ``known`` is the solved emission, ``refused`` the fields that contradict each other. An interval
    is {"low", "high", "unit"} in its result's unit, two standard uncertainties to either side; of a
    band, below its low end and above its high one.
    """
    arrives = delivered_fraction(given) is not None
    at_panel = _Side(given, known, refused, delivered=False)
    return {
        "coverage_factor": number("COVERAGE_FACTOR"),
        "set": _side_intervals(at_panel),
        "delivered": _side_intervals(replace(at_panel, delivered=True)) if arrives else None,
    }
