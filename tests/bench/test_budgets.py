"""A budget that is missed is named; one that is kept is not."""

import copy

import pytest

from tests.bench import pwa

KEPT = {
    "first_screen_gzip_bytes": {"en-GB": {"index.js": 40_000, "en.js": 30_000}},
    "offline_start": {"ratio": 8.0},
    "lighthouse": {
        "error": None,
        "scores": {"performance": 95, "accessibility": 95, "best-practices": 95},
        "milliseconds": {"interactive": 2000},
    },
}


def test_figures_at_the_budgets_are_kept():
    assert pwa.breaches(KEPT) == []


@pytest.mark.parametrize(
    ("path", "value", "said"),
    [
        (("first_screen_gzip_bytes", "en-GB", "en.js"), 30_001, "70001 bytes"),
        (("offline_start", "ratio"), 8.01, "without a network"),
        (("lighthouse", "error"), "NO_FCP", "NO_FCP"),
        (("lighthouse", "scores", "accessibility"), 94, "accessibility: 94"),
        (("lighthouse", "milliseconds", "interactive"), 2001, "usable after 2001 ms"),
    ],
)
def test_each_missed_budget_is_named(path, value, said):
    figures = copy.deepcopy(KEPT)
    place = figures
    for step in path[:-1]:
        place = place[step]
    place[path[-1]] = value
    (only,) = pwa.breaches(figures)
    assert said in only
