"""Intervals of results from the stated uncertainties of their inputs, by first-order propagation.

u(y)^2 = sum of (dy/dx_i u(x_i))^2 over independent inputs, each derivative by a small difference of
the engine itself, so that no formula has a second home; steps that the input does not reach are not
worked out again. What counts as an input that must have a stated uncertainty is the delivery, the
spot and the tissue; the emission, speed and time are taken as set unless an uncertainty is stated
for them too.
"""

from collections.abc import Iterable
from math import sqrt

from api.dose.arrival import stated_beside
from api.dose.constants import number, table
from api.dose.request import DoseInput, value_at
from api.dose.results import ON_POWER, ON_SPOT
from api.dose.schema import CHAIN, EXACT
from api.dose.sides import Side
from api.dose.steps import Band, Result
from api.dose.tissue_results import needs_of, tissue_names

NOT_STATED = "not stated"
# May be negative: gaps between the spots.
_SIGNED = ("overlap",)


def _counted_paths(side: Side) -> list[str]:
    """Return the inputs whose uncertainty must be stated, part by part."""
    given = side.given
    delivery: tuple[str, ...] = ()
    if side.delivery is not None:
        used = ("verified_ratio",) if "verified_ratio" in side.delivery else CHAIN
        delivery = tuple(name for name in used if name in side.delivery)
    parts = {"delivery": delivery, "spot": given.stated.get("spot", {}), "tissue": given.tissue}
    paths = [f"{part}.{name}" for part, names in parts.items() for name in names]
    return [path for path in paths if path in table()["quantities"] and path not in EXACT]


def _around(given: DoseInput, path: str) -> tuple[float, float]:
    """Return the two values between which the derivative is taken, inside the field's range."""
    value = value_at(given.stated, path)
    limits = table()["quantities"][path]
    step = number("DIFFERENCE_STEP") * (abs(value) or given.uncertainty.get(path, 0.0))
    low = max(value - step, min(limits["least"], value))
    return low, min(value + step, max(limits["most"], value))


def _slopes(side: Side, path: str) -> dict[str, tuple[float, float]]:
    """Return {result: derivatives of its two ends} for the results that depend on this input."""
    value = value_at(side.given.stated, path)
    low, high = _around(side.given, path)
    if low == high:
        return {}
    before = side.results if low == value else side.moved(path, low)
    after = side.results if high == value else side.moved(path, high)
    width, slopes = high - low, {}
    for name, result in before.items():
        other = after.get(name)
        if other is None or other is result:
            continue
        (left_low, left_high), (right_low, right_high) = result.ends, other.ends
        if right_low != left_low or right_high != left_high:
            slopes[name] = ((right_low - left_low) / width, (right_high - left_high) / width)
    return slopes


def _depending(side: Side, path: str) -> Iterable[str]:
    """Return the results that depend on an input without a stated uncertainty."""
    part, _, name = path.rpartition(".")
    if part == "tissue":
        offered = (result for result in tissue_names() if result in side.results)
        return [result for result in offered if name in needs_of(side.given, result)]
    value = value_at(side.given.stated, path)
    low, high = _around(side.given, path)
    if low == high:
        return ()
    on_part = _depending_on_spot if part == "spot" else _depending_on_delivery
    return on_part(side, name, low if low < value else high) & side.results.keys()


def _depending_on_spot(side: Side, name: str, other: float) -> set[str]:
    """Return the results that change with one field of the spot."""
    values, moved = side.given.spot.values, side.spot_with(name, other).values
    changed = {result for result in moved if moved[result] != values[result]}
    return changed | ON_SPOT if "spot_diameter" in changed else changed


def _depending_on_delivery(side: Side, name: str, other: float) -> set[str]:
    """Return the results that change with one part of the delivery."""
    values, moved = side.delivery, {**side.delivery, name: other}
    beside, moved_beside = stated_beside(values), stated_beside(moved)
    changed = {result for result in moved_beside if moved_beside[result] != beside[result]}
    return changed | ON_POWER if "delivered_fraction" in changed else changed


def _interval(name: str, result: Result | Band, variances: list[float]) -> dict[str, object]:
    entry, factor = table()["results"][name], number("COVERAGE_FACTOR")
    low, high = result.ends
    below, above = low - factor * sqrt(variances[0]), high + factor * sqrt(variances[1])
    if below < 0 and name not in _SIGNED:
        below = 0.0
    per_si = entry["per_si"]
    return {"low": below * per_si, "high": above * per_si, "unit": entry["unit"]}


def _side_intervals(side: Side) -> dict[str, object]:
    """Return {result: interval or "not stated"}; results without an input that counts, none."""
    uncertainty = side.given.uncertainty
    counted = _counted_paths(side)
    others = [p for p in uncertainty if p not in counted and not p.startswith("delivery.")]
    variances: dict[str, list[float]] = {}
    unstated: set[str] = set()
    for path in (*counted, *others):
        if path not in uncertainty:
            unstated.update(_depending(side, path))
            continue
        for name, slopes in _slopes(side, path).items():
            sums = variances.setdefault(name, [0.0, 0.0])
            for end, slope in enumerate(slopes):
                part = slope * uncertainty[path]
                sums[end] += part * part
    whole = table()["display"]["whole"]
    return {
        name: NOT_STATED if name in unstated else _interval(name, result, variances[name])
        for name, result in side.results.items()
        if (name in variances or name in unstated) and name not in whole
    }


def intervals(panel: Side, delivered: Side | None) -> dict[str, object]:
    """Return the intervals of a response: of the set dose, and of the delivered one or None.

    An interval is {"low", "high", "unit"} in its result's unit, two standard uncertainties to
    either side; of a band, below its low end and above its high one.
    """
    return {
        "coverage_factor": number("COVERAGE_FACTOR"),
        "set": _side_intervals(panel),
        "delivered": None if delivered is None else _side_intervals(delivered),
    }
