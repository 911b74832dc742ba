"""A straight line through the checks of a drift: how fast, and between when and when it arrives."""

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt

# Two-sided 95 %: the 0.975 quantile of the normal distribution.
_Z = 1.959963984540054
# Fewer points than these say nothing about a slope that one would want to hear.
LEAST_POINTS = 5


@dataclass(frozen=True)
class Line:
    """A fitted line: ``slope`` a day with its 95 % interval, and between when it meets a level.

    ``meets``: days from the same zero as the times; None where it does not come there.
    """

    slope: float
    slope_low: float
    slope_high: float
    meets: tuple[float, float] | None


def fit(days: Sequence[float], values: Sequence[float], *, level: float) -> Line | None:
    """Fit a line by least squares and say between when it meets ``level`` after the last day.

    Returns None for fewer than five points, points of one moment, or a slope whose 95 % interval
    holds 0. The interval of the meeting is where the confidence band of the line crosses the level
    (inverse regression, Fieller 1954; from memory).
    """
    count = len(days)
    if count < LEAST_POINTS:
        return None
    middle, height = _mean(days), _mean(values)
    spread = _mean([(day - middle) * (day - middle) for day in days]) * count
    if spread == 0:
        return None
    along = [(d - middle) * (v - height) for d, v in zip(days, values, strict=True)]
    slope = _mean(along) * count / spread
    off = [v - height - slope * (d - middle) for d, v in zip(days, values, strict=True)]
    variance = _mean([one * one for one in off]) * count / (count - 2)
    reach = students_t(count - 2)
    half = reach * sqrt(variance / spread)
    if abs(slope) <= half:
        return None
    meets = _meets(level - height, slope, half, variance * reach * reach / count, days[-1] - middle)
    return Line(
        slope=slope,
        slope_low=slope - half,
        slope_high=slope + half,
        meets=None if meets is None else (middle + meets[0], middle + meets[1]),
    )


def students_t(freedom: int) -> float:
    """Return the 0.975 quantile of Student's t for 3 or more degrees of freedom.

    Within 0.2 % at 3 and 0.05 % from 4 on. Source: Abramowitz and Stegun 26.7.5.
    """
    z = _Z
    z2 = z * z
    first = z * (z2 + 1) / 4
    second = z * (5 * z2 * z2 + 16 * z2 + 3) / 96
    third = z * (3 * z2 * z2 * z2 + 19 * z2 * z2 + 17 * z2 - 15) / 384
    fourth = z * (79 * z2 * z2 * z2 * z2 + 776 * z2 * z2 * z2 + 1482 * z2 * z2 - 1920 * z2 - 945)
    fourth = fourth / 92160
    n = freedom
    return z + first / n + second / (n * n) + third / (n * n * n) + fourth / (n * n * n * n)


def _meets(
    gap: float, slope: float, half: float, at_middle: float, newest: float
) -> tuple[float, float] | None:
    """Times from the middle between which gap = slope t +- sqrt(at_middle + half^2 t^2)."""
    # (gap - slope t)^2 = at_middle + half^2 t^2 is a quadratic in t with two real roots.
    a = slope * slope - half * half
    root = sqrt(gap * gap * half * half + a * at_middle)
    ends = sorted(((gap * slope - root) / a, (gap * slope + root) / a))
    # The line itself is beyond the level already, or leads away from it.
    if gap / slope <= newest:
        return None
    return max(ends[0], newest), ends[1]


def _mean(values: Sequence[float]) -> float:
    total = 0.0
    for value in values:
        total = total + value
    return total / len(values)
