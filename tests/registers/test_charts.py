"""Control charts against printed examples, a textbook, scipy, and published run lengths."""

import json
import math
from itertools import accumulate
from pathlib import Path

import numpy as np
import pytest
from scipy import stats

from api.devices import charts, trend_line
from api.errors import BadInput

PRINTED = json.loads(
    (Path(__file__).resolve().parents[1] / "vectors" / "charts.json").read_text("utf-8")
)


def test_the_printed_ewma():
    """NIST/SEMATECH e-Handbook 6.3.2.4, whose limits are those of many values."""
    said = PRINTED["ewma"]
    found = charts.ewma(
        said["x"], target=said["z0"], sigma=said["s"], weight=said["lambda"], width=3
    )
    assert [round(one.z, 2) for one in found] == said["z"]
    assert found[-1].high == pytest.approx(said["ucl"], abs=said["tolerance"])
    assert found[-1].low == pytest.approx(said["lcl"], abs=said["tolerance"])
    assert any(not one.low <= one.z <= one.high for one in found) is said["signal"]
    # Of one value the average moves by a third part of it: 0.3 * 3 * 2.0539 = 1.84851.
    assert found[0].high == pytest.approx(50 + 1.84851, abs=1e-9)


def test_the_printed_cusum():
    """NIST/SEMATECH e-Handbook 6.3.2.3."""
    said = PRINTED["cusum"]
    found = charts.cusum(said["x"], target=said["mu"], slack=said["k"])
    signals = [n for n, one in enumerate(found, 1) if max(one.high, one.low) > said["h"]]
    assert signals[0] == said["first_signal_sample"]
    assert found[signals[0] - 1].high == pytest.approx(said["s_high_at_14"], abs=0.005)


def test_cusum_without_slack_is_the_plain_sum_above_its_lowest():
    """Montgomery and Runger print the plain sums; each side is the way from their extreme."""
    said = PRINTED["cumulative_sum"]
    plain = [0.0, *said["s"]]
    lowest, highest = accumulate(plain, min), accumulate(plain, max)
    expected = [
        (now - least, most - now) for now, least, most in zip(plain, lowest, highest, strict=True)
    ]
    found = charts.cusum(said["x"], target=said["target"], slack=0.0)
    assert [(one.high, one.low) for one in found] == [
        (pytest.approx(high, abs=1e-9), pytest.approx(low, abs=1e-9)) for high, low in expected[1:]
    ]


def test_sigma_by_moving_ranges():
    """By hand: ranges 2, 1, 3, their mean 2, divided by 1.128. The factor is 2 / sqrt(pi)."""
    assert charts.sigma_of_ranges([4, 6, 5, 8]) == pytest.approx(2 / 1.128)
    assert pytest.approx(2 / math.sqrt(math.pi), abs=5e-4) == charts.RANGE_PER_SIGMA


@pytest.mark.parametrize("values", [[], [1.0]])
def test_nothing_can_be_said_of_too_few(values):
    with pytest.raises(BadInput):
        charts.sigma_of_ranges(values)
    with pytest.raises(BadInput):
        charts.mean([])


@pytest.mark.parametrize("freedom", [3, 4, 5, 8, 15, 30, 120])
def test_students_t(freedom):
    expected = stats.t.ppf(0.975, freedom)
    assert trend_line.students_t(freedom) == pytest.approx(
        expected, rel=2e-3 if freedom == 3 else 5e-4
    )


def ewma_between_last_limits(values):
    half = charts.EWMA_WIDTH * math.sqrt(charts.EWMA_WEIGHT / (2 - charts.EWMA_WEIGHT))
    return [abs(one.z) > half for one in charts.ewma(values, target=0.0, sigma=1.0)]


def ewma_between_its_limits(values):
    found = charts.ewma(values, target=0.0, sigma=1.0)
    return [not one.low <= one.z <= one.high for one in found]


def cusum_over(h):
    def signals(values):
        found = charts.cusum(values, target=0.0, slack=charts.CUSUM_SLACK)
        return [max(one.high, one.low) > h for one in found]

    return signals


def individuals(values):
    return [abs(one) > charts.INDIVIDUALS_WIDTH for one in values]


def mean_run(signals, published, runs, seed):
    """Mean number of normal values up to the first signal, and its standard error."""
    random = np.random.default_rng(seed)
    lengths = []
    for _ in range(runs):
        values: list[float] = []
        found: list[bool] = []
        while True not in found:
            values += random.standard_normal(max(int(published), 2 * len(values))).tolist()
            found = signals(values)
        lengths.append(found.index(True) + 1)
    return float(np.mean(lengths)), float(np.std(lengths) / math.sqrt(runs))


# CUSUM: Montgomery, Statistical Quality Control, table of run lengths by Hawkins for k = 0.5
# (167.7 and 465.4 as design figures). EWMA: Lucas and Saccucci 1990, limits of many values.
# Individuals: 1 / (2 (1 - Phi(3))) = 370.4.
PUBLISHED = [
    ("cusum h 4", cusum_over(4), 167.7, 11),
    ("cusum h 5", cusum_over(5), 465.4, 12),
    ("ewma", ewma_between_last_limits, 500.0, 13),
    ("individuals", individuals, 370.4, 14),
]


@pytest.mark.parametrize(
    "runs", [400, pytest.param(10_000, marks=pytest.mark.long, id="long")], ids=str
)
@pytest.mark.parametrize(
    ("name", "signals", "published", "seed"), PUBLISHED, ids=[one[0] for one in PUBLISHED]
)
def test_run_lengths_are_the_published_ones(name, signals, published, seed, runs):
    found, error = mean_run(signals, published, runs, seed)
    print(f"{name}: seed {seed}, {runs} runs, {found:.1f} +- {error:.1f}, published {published}")
    # Four standard errors, and half a per cent for what is printed as "about".
    assert abs(found - published) < 4 * error + 0.005 * published
    # The known-bad stub: a chart a fifth more eager would have to be seen by the long run.
    assert 4 * error + 0.005 * published < published * (0.25 if runs < 1000 else 0.05)


@pytest.mark.long
def test_exact_limits_cost_few_false_alarms():
    """Exact limits are narrower at first, so alarms come a little sooner: at most 5 %."""
    found, error = mean_run(ewma_between_its_limits, 500, 10_000, 15)
    print(f"ewma with exact limits: seed 15, {found:.1f} +- {error:.1f}")
    assert 475 - 4 * error < found < 500 + 4 * error
