"""A trend worked out apart from both programs: sums in closed form, lines and t by scipy.

The EWMA is a weighted sum instead of a recursion, a CUSUM the distance of the plain cumulative sum
from its lowest so far, a line scipy's, and where its confidence band meets a level is searched for.
"""

from datetime import datetime

import numpy as np
from scipy import optimize, stats

POWER = {"baseline": 20, "least_sigma": 0.005, "relative": False}
CUTS = {"baseline": 10, "least_sigma": 0.02, "relative": True}


def smoothed(values, target, sigma, weight=0.2, width=2.962):
    found = []
    for i in range(1, len(values) + 1):
        weights = weight * (1 - weight) ** np.arange(i)[::-1]
        z = (1 - weight) ** i * target + float(np.dot(weights, values[:i]))
        half = width * sigma * np.sqrt(np.sum(weights**2))
        found.append((z, target - half, target + half))
    return found


def sums(values, target, slack):
    """Both sides by the cumulative sum C: C_i less the least of 0, C_1 .. C_i."""

    def side(off):
        total = np.concatenate([[0.0], np.cumsum(off)])
        return [float(total[i] - total[: i + 1].min()) for i in range(1, len(total))]

    values = np.asarray(values, dtype=float)
    return side(values - target - slack), side(target - slack - values)


def line(days, values, level):
    """Slope with its 95 % interval a day, and between which days the band meets the level."""
    days, values = np.asarray(days, dtype=float), np.asarray(values, dtype=float)
    if len(days) < 5 or np.ptp(days) == 0:
        return None
    fitted = stats.linregress(days, values)
    reach = stats.t.ppf(0.975, len(days) - 2)
    half = reach * fitted.stderr
    if abs(fitted.slope) <= half:
        return None
    sign = np.sign(fitted.slope)
    off = values - fitted.intercept - fitted.slope * days
    spread = np.sum((days - days.mean()) ** 2)
    error = np.sqrt(np.sum(off**2) / (len(days) - 2))

    def height(day, side):
        """The line, or an edge of its band, as far as it has come toward the level."""
        band = reach * error * np.sqrt(1 / len(days) + (day - days.mean()) ** 2 / spread)
        return sign * (fitted.intercept + fitted.slope * day - level) + side * band

    meets = None
    if height(days[-1], 0) < 0:
        far = days[-1] + 1e7
        first = days[-1]
        if height(first, 1) < 0:
            first = optimize.brentq(height, first, far, args=(1,))
        meets = (first, optimize.brentq(height, days[-1], far, args=(-1,)))
    return (fitted.slope, fitted.slope - half, fitted.slope + half), meets


def trend(checks, restarts, rules):
    """Roles, signals and meaning as plain lists; see ``api.devices.trend`` for the words."""
    checks = sorted(checks, key=lambda one: (moment(one["at"]), one["check_id"]))
    turns = sorted((moment(one["at"]), one["id"]) for one in restarts)
    key = [
        max([-1, *(i for i, (at, _) in enumerate(turns) if at <= moment(c["at"]))]) for c in checks
    ]
    used = sorted({*key, len(turns) - 1})
    parts, points = [], []
    for number, turn in enumerate(used):
        mine = [c for c, k in zip(checks, key, strict=True) if k == turn]
        part, said = settle(mine, rules)
        parts.append({"restart_id": turns[turn][1] if turn >= 0 else None, **part})
        points += [
            {"check_id": c["check_id"], "part": number, **s}
            for c, s in zip(mine, said, strict=True)
        ]
    mine = [c for c, k in zip(checks, key, strict=True) if k == used[-1]]
    said = [p for p in points if p["part"] == len(used) - 1]
    return {"points": points, "parts": parts, **meaning(mine, said, parts[-1], rules)}


def settle(mine, rules):
    out = {i for i, c in enumerate(mine) if c.get("failed")}
    failed = set(out)
    while True:
        base = [i for i in range(len(mine)) if i not in out][: rules["baseline"]]
        if len(base) < rules["baseline"]:
            said = [
                {
                    "role": "left_out" if i in out else "baseline",
                    "z": None,
                    "signals": ["failed"] if i in failed else ["limits"] if i in out else [],
                }
                for i in range(len(mine))
            ]
            return {"settled": len(base), "center": None, "sigma": None}, said
        x = np.array([mine[i]["value"] for i in base])
        center = float(x.mean())
        floor = rules["least_sigma"] * (center if rules["relative"] else 1)
        sigma = max(float(np.abs(np.diff(x)).mean()) / 1.128, floor)
        odd = {base[j] for j in np.flatnonzero(np.abs(x - center) > 3 * sigma)}
        if not odd:
            break
        out |= odd
    said = []
    later = [c["value"] for c in mine[base[-1] + 1 :]]
    curve = smoothed(later, center, sigma)
    for i, c in enumerate(mine):
        if i <= base[-1]:
            said.append(
                {
                    "role": "left_out" if i in out else "baseline",
                    "z": None,
                    "signals": ["failed"] if i in failed else ["limits"] if i in out else [],
                }
            )
            continue
        z, low, high = curve[i - base[-1] - 1]
        beyond = rules["relative"] and not 0.8 * center <= c["value"] <= 1.2 * center
        signals = ["failed"] if c.get("failed") or beyond else []
        signals += ["limits"] if abs(c["value"] - center) > 3 * sigma else []
        signals += ["ewma"] if z < low or z > high else []
        said.append({"role": "watched", "z": z, "signals": signals})
    return {"settled": rules["baseline"], "center": center, "sigma": sigma}, said


def meaning(mine, said, part, rules):
    center, sigma = part["center"], part["sigma"]
    middle = center if rules["relative"] else 1.0
    u = mine[-1].get("uncertainty", 0.0) if mine else 0.0
    allowed = max(0.0, 0.2 - u)
    edge = None if middle is None else [middle * (1 - allowed), middle * (1 + allowed)]
    plain = {"direction": None, "since": None, "rate": None, "reaches": None}
    code = (
        "empty" if not mine
        else "failed" if "failed" in said[-1]["signals"]
        else "no_baseline" if center is None
        else "drifting" if "ewma" in said[-1]["signals"]
        else "beyond" if "limits" in said[-1]["signals"]
        else "steady"
    )  # fmt: skip
    found = {"code": code, **plain}
    if code == "beyond":
        found["direction"] = "up" if mine[-1]["value"] > center else "down"
    if code == "drifting":
        found |= drifting(mine, said, center, sigma, edge)
    return {"line": edge, "meaning": found}


def drifting(mine, said, center, sigma, edge):
    watched = [(c, s) for c, s in zip(mine, said, strict=True) if s["role"] == "watched"]
    direction = "up" if watched[-1][1]["z"] > center else "down"
    up, down = sums([c["value"] for c, _ in watched], center, sigma / 2)
    side = up if direction == "up" else down
    begun = [i + 1 for i, s in enumerate(side) if s < 1e-12]
    first = min(begun[-1] if begun else 0, len(watched) - 1)
    since = [c for c, _ in watched[first:]]
    days = [(moment(c["at"]) - moment(since[0]["at"])).total_seconds() / 86400 for c in since]
    found = line(days, [c["value"] for c in since], edge[0] if direction == "down" else edge[1])
    said = {"direction": direction, "since": since[0]["check_id"], "rate": None, "reaches": None}
    if found is None or (found[0][0] > 0) != (direction == "up"):
        return said
    said["rate"] = [one * 365.25 / 12 for one in found[0]]
    if found[1] and found[1][1] - days[-1] <= 731:
        said["reaches"] = [one - days[-1] for one in found[1]]
    return said


def moment(text):
    return datetime.fromisoformat(text)
