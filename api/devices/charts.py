"""Control charts of single values: individuals, EWMA and CUSUM. Pure.

Sums are taken one after another, so that the tablet's edition comes to the same digits.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import sqrt

from api.errors import BadInput

# Mean range of two normal values in standard deviations: 2 / sqrt(pi), as tables print it.
RANGE_PER_SIGMA = 1.128
# Half-width of the individuals chart in standard deviations.
INDIVIDUALS_WIDTH = 3.0
# Weight of the newest value, and half-width: about 500 checks between false alarms
# (Lucas and Saccucci 1990, as printed in Montgomery; from memory).
EWMA_WEIGHT = 0.2
EWMA_WIDTH = 2.962
# A CUSUM with this slack sees a shift of one standard deviation soonest [standard deviations].
CUSUM_SLACK = 0.5


@dataclass(frozen=True)
class Smoothed:
    """The EWMA after a value, between the limits that hold for so many values."""

    z: float
    low: float
    high: float


@dataclass(frozen=True)
class Sums:
    """Both sides of a CUSUM after a value, 0 or more, in the unit of the values."""

    high: float
    low: float


def mean(values: Sequence[float]) -> float:
    """Return the mean; raises ``BadInput`` for no values."""
    if not values:
        raise BadInput("no_values", "A mean needs values.", field="values")
    return _total(values) / len(values)


def sigma_of_ranges(values: Sequence[float]) -> float:
    """Return the standard deviation by the mean moving range of two, divided by 1.128.

    Raises ``BadInput`` for fewer than two values. Source: NIST/SEMATECH e-Handbook 6.3.2.2.
    """
    if len(values) < 2:
        raise BadInput("no_values", "A moving range needs two values.", field="values")
    ranges = [abs(after - before) for before, after in pairwise(values)]
    return mean(ranges) / RANGE_PER_SIGMA


def ewma(
    values: Sequence[float],
    *,
    target: float,
    sigma: float,
    weight: float = EWMA_WEIGHT,
    width: float = EWMA_WIDTH,
) -> tuple[Smoothed, ...]:
    """Return the exponentially weighted moving average after each value, from ``target`` on.

    ``sigma``: standard deviation of a value. ``weight``: of the newest, 0 to 1. ``width``: in
    standard deviations of the average. Limits are exact for the number of values so far:
    target +- width sigma sqrt(weight / (2 - weight) (1 - (1 - weight)^(2 i))).
    Source: NIST/SEMATECH e-Handbook 6.3.2.4, which prints their end.
    """
    z, kept, found = target, 1.0, []
    for value in values:
        z = weight * value + (1 - weight) * z
        kept = kept * (1 - weight) * (1 - weight)
        half = width * sigma * sqrt(weight / (2 - weight) * (1 - kept))
        found.append(Smoothed(z=z, low=target - half, high=target + half))
    return tuple(found)


def cusum(values: Sequence[float], *, target: float, slack: float) -> tuple[Sums, ...]:
    """Return the two one-sided cumulative sums after each value, both beginning at 0.

    ``slack``: by how much a value may differ from ``target`` without adding, in its unit. A sum
    above the decision interval is a signal, and the change is taken to have come after the last
    value that left it at 0. Source: NIST/SEMATECH e-Handbook 6.3.2.3.
    """
    high = low = 0.0
    found = []
    for value in values:
        high = max(0.0, high + (value - target - slack))
        low = max(0.0, low + (target - slack - value))
        found.append(Sums(high=high, low=low))
    return tuple(found)


def _total(values: Sequence[float]) -> float:
    # Not sum(): later versions of Python correct its rounding, which a browser does not.
    total = 0.0
    for value in values:
        total = total + value
    return total
