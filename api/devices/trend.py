"""The trend of one laser's checks: parts between restarts, baselines, signals, what it means. Pure.

Decided here, because no source does: checks count in the order in which they were made, whenever
they arrive, so that a late one may change a baseline. What was put aside or refused is no check.
A failed check, and one beyond the limits that the others give, belongs to no baseline; after the
baseline every check counts, failed ones too. A restart at the very moment of a check comes before
it. A cleaning restarts nothing: whether it helped is what one wants to see.
"""

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from typing import Any

from api.clock import parse_rfc3339
from api.devices import charts, trend_line
from api.devices.trend_types import CUTS, POWER, Check, Meaning, Part, Point, Rules, Trend
from api.devices.verification import FAIL_ABOVE

__all__ = ["CUTS", "POWER", "Check", "Rules", "of_verifications", "trend", "trend_alarm"]

DAY_S = 86_400.0
DAYS_A_MONTH = 365.25 / 12
LINE = float(FAIL_ABOVE)
# Beyond this nobody should look ahead: the project's own choice [days].
LOOK_AHEAD_DAYS = 731.0


def trend(
    checks: Iterable[Check], restarts: Iterable[tuple[str, str]] = (), *, rules: Rules = POWER
) -> Trend:
    """Work out the trend of one series: one laser, handpiece and mode, or one set-up of cuts.

    ``restarts``: id and moment of each service or release after which everything may be different.
    Raises ``ValueError`` for a moment that cannot be read.
    """
    ordered = sorted(checks, key=lambda one: (parse_rfc3339(one.at), one.check_id))
    points: list[Point] = []
    parts: list[Part] = []
    for restart_id, some in _parts(ordered, restarts):
        mine = [Point(check=one, part=len(parts)) for one in some]
        parts.append(_settle(mine, restart_id, rules))
        points += mine
    now = [one for one in points if one.part == len(parts) - 1]
    line = _line(now[-1].check if now else None, parts[-1], rules)
    return Trend(tuple(points), tuple(parts), line, _meaning(now, parts[-1], line))


def trend_alarm(found: Trend) -> Meaning | None:
    """Return what should be said aloud of a trend: a failed, outlying or drifting newest check."""
    return found.meaning if found.meaning.code in ("failed", "beyond", "drifting") else None


def of_verifications(documents: Iterable[Mapping[str, Any]]) -> dict[tuple, list[Check]]:
    """Return the checks of verification documents by device, handpiece and mode."""
    series: dict[tuple, list[Check]] = {}
    for one in documents:
        key = (one["device_id"], one["handpiece_id"], one["mode"])
        series.setdefault(key, []).append(
            Check(
                check_id=one["verification_id"],
                at=one["verified_at"],
                value=float(one["ratio"]),
                uncertainty=float(one["meter_uncertainty"]),
                failed=one["verdict"] == "fail",
            )
        )
    return series


def _parts(
    ordered: Sequence[Check], restarts: Iterable[tuple[str, str]]
) -> list[tuple[str | None, list[Check]]]:
    """Checks from restart to restart; a restart that another follows with no check goes."""
    turns = sorted((parse_rfc3339(at), restart_id) for restart_id, at in restarts)
    parts: list[tuple[str | None, list[Check]]] = [(None, [])]
    turn = 0
    for check in ordered:
        moment = parse_rfc3339(check.at)
        turn = _turn(turns, turn, parts, moment)
        parts[-1][1].append(check)
    _turn(turns, turn, parts, None)
    return parts


def _turn(turns: list, turn: int, parts: list, before: datetime | None) -> int:
    while turn < len(turns) and (before is None or turns[turn][0] <= before):
        fresh = (turns[turn][1], [])
        if parts[-1][1]:
            parts.append(fresh)
        else:
            parts[-1] = fresh
        turn += 1
    return turn


def _settle(points: list[Point], restart_id: str | None, rules: Rules) -> Part:
    """Give each point of a part its role and signals; return the part."""
    for one in points:
        if one.check.failed:
            one.role, one.signals = "left_out", ["failed"]
    while True:
        base = [one for one in points if one.role == "baseline"][: rules.baseline]
        if len(base) < rules.baseline:
            return Part(restart_id, settled=len(base))
        values = [one.check.value for one in base]
        center = charts.mean(values)
        least = rules.least_sigma * (center if rules.relative else 1.0)
        sigma = max(charts.sigma_of_ranges(values), least)
        outside = [one for one in base if _outside(one.check.value, center, sigma)]
        if not outside:
            break
        for one in outside:
            one.role, one.signals = "left_out", ["limits"]
    _watch(points[points.index(base[-1]) + 1 :], center, sigma, rules)
    return Part(restart_id, settled=rules.baseline, center=center, sigma=sigma)


def _watch(points: Sequence[Point], center: float, sigma: float, rules: Rules) -> None:
    smoothed = charts.ewma([one.check.value for one in points], target=center, sigma=sigma)
    for one, now in zip(points, smoothed, strict=True):
        value = one.check.value
        failed = one.check.failed or (rules.relative and abs(value - center) > LINE * center)
        found = {
            "failed": failed,
            "limits": _outside(value, center, sigma),
            "ewma": not now.low <= now.z <= now.high,
        }
        one.role, one.smoothed = "watched", now
        one.signals = [code for code, there in found.items() if there]


def _outside(value: float, center: float, sigma: float) -> bool:
    return abs(value - center) > charts.INDIVIDUALS_WIDTH * sigma


def _line(newest: Check | None, part: Part, rules: Rules) -> tuple[float, float] | None:
    middle = part.center if rules.relative else 1.0
    if middle is None:
        return None
    guarded = max(0.0, LINE - (newest.uncertainty if newest else 0.0))
    half = guarded * middle
    return middle - half, middle + half


def _meaning(points: list[Point], part: Part, line: tuple[float, float] | None) -> Meaning:
    if not points:
        return Meaning("empty")
    newest = points[-1]
    center = part.center
    if "failed" in newest.signals:
        return Meaning("failed")
    if center is None or part.sigma is None or line is None:
        return Meaning("no_baseline")
    if newest.smoothed is not None and "ewma" in newest.signals:
        return _drift(points, center, part.sigma, line)
    if "limits" in newest.signals:
        return Meaning("beyond", direction=_direction(newest.check.value, center))
    return Meaning("steady")


def _drift(points: list[Point], center: float, sigma: float, line: tuple[float, float]) -> Meaning:
    """When a drift began by CUSUM, and how fast it goes by a line through what came since."""
    watched = [one for one in points if one.smoothed is not None]
    smoothed = watched[-1].smoothed
    direction = _direction(smoothed.z if smoothed else center, center)
    sums = charts.cusum(
        [one.check.value for one in watched], target=center, slack=charts.CUSUM_SLACK * sigma
    )
    side = [one.high if direction == "up" else one.low for one in sums]
    begun = max((i + 1 for i, one in enumerate(side) if one == 0), default=0)
    since = watched[min(begun, len(watched) - 1) :]
    zero = parse_rfc3339(since[0].check.at)
    days = [(parse_rfc3339(one.check.at) - zero).total_seconds() / DAY_S for one in since]
    level = line[0] if direction == "down" else line[1]
    fitted = trend_line.fit(days, [one.check.value for one in since], level=level)
    begins = since[0].check.check_id
    if fitted is None or (fitted.slope > 0) != (direction == "up"):
        return Meaning("drifting", direction, begins)
    meets = fitted.meets
    near = meets is not None and meets[1] - days[-1] <= LOOK_AHEAD_DAYS
    return Meaning(
        "drifting",
        direction,
        begins,
        rate=(
            fitted.slope * DAYS_A_MONTH,
            fitted.slope_low * DAYS_A_MONTH,
            fitted.slope_high * DAYS_A_MONTH,
        ),
        reaches=(meets[0] - days[-1], meets[1] - days[-1]) if meets and near else None,
    )


def _direction(value: float, middle: float) -> str:
    return "up" if value > middle else "down"
