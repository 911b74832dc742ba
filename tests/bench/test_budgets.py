"""A budget that is missed is named; one that is kept is not."""

import json
from dataclasses import asdict

import pytest

from tests.bench import budgets, echo, pwa
from tests.bench.figures import Figure, kept


@pytest.mark.parametrize(
    ("value", "want", "is_kept"),
    [
        (0.5, ">=0.5", True),
        (0.4999, ">=0.5", False),
        (0.2, "<0.2", False),
        (0.1999, "< 0.2", True),
        (8, "<=8", True),
        (8.01, "<=8", False),
        (1, ">1", False),
        (None, "<1", False),
        (None, None, True),
    ],
)
def test_a_wanted_relation_holds_or_not(value, want, is_kept):
    assert kept(value, want) is is_kept


@pytest.mark.parametrize("want", ["0.5", "about 3", "=1", ">=fast", ""])
def test_what_is_no_relation_is_an_error(want):
    with pytest.raises(ValueError):
        kept(1, want)


def _lines(*figures: Figure) -> list[str]:
    return [json.dumps(asdict(figure)) + "\n" for figure in figures]


def test_each_missed_figure_is_named_and_every_line_passed_on(capsys):
    lines = _lines(
        Figure(name="a.kept", value=0.5, unit="1", want=">=0.5"),
        Figure(name="b.missed", value=0.4, unit="1", want=">=0.5"),
        Figure(name="c.calibration", value=9.0, unit="ms"),
        Figure(name="d.broken", value=None, unit="ms", want="<1"),
    )
    assert budgets.missed(lines) == [
        "b.missed: 0.4, wanted >=0.5",
        "d.broken: None, wanted <1",
    ]
    assert capsys.readouterr().out == "".join(lines)


def test_a_bench_that_said_nothing_is_a_miss():
    assert budgets.missed([]) == ["no figure was measured"]


KEPT = {
    "first_screen": {"en-GB": {"index.js": 40_000, "en.js": 30_000}},
    "offline_start": {"ratio": 8.0},
    "lighthouse": {
        "error": None,
        "short": [],
        "scores": {"performance": 95, "accessibility": 95, "best-practices": 95},
        "milliseconds": {"interactive": 2000},
    },
}


def _figures(found: dict) -> list[Figure]:
    return [
        *pwa.first_screen_figures(found["first_screen"]),
        pwa.offline_figure(found["offline_start"]),
        *pwa.lighthouse_figures(found["lighthouse"]),
    ]


def test_the_app_at_its_budgets_keeps_them():
    assert budgets.missed(_lines(*_figures(KEPT))) == []


@pytest.mark.parametrize(
    ("path", "value", "named"),
    [
        (("first_screen", "en-GB", "en.js"), 30_001, ["pwa.first_screen.en-GB: 70001"]),
        (("offline_start", "ratio"), 8.01, ["pwa.offline_start.vs_calibration: 8.01"]),
        (("lighthouse", "scores", "accessibility"), 94, ["pwa.lighthouse.accessibility: 94"]),
        (("lighthouse", "milliseconds", "interactive"), 2001, ["pwa.lighthouse.usable: 2001"]),
        (("lighthouse", "error"), "NO_FCP", ["pwa.lighthouse."] * 4),
    ],
)
def test_each_budget_of_the_app_can_be_missed(path, value, named):
    found = json.loads(json.dumps(KEPT))
    place = found
    for step in path[:-1]:
        place = place[step]
    place[path[-1]] = value
    wrong = budgets.missed(_lines(*_figures(found)))
    assert len(wrong) == len(named)
    assert all(words.startswith(name) for words, name in zip(wrong, named, strict=True))


def test_the_echo_gives_back_what_it_was_sent():
    body = {"wavelength": "10.6 um", "emission": {"mode": "pulsed"}}
    response = echo.application.test_client().post("/api/v1/dose", json=body)
    assert (response.status_code, response.json) == (200, body)
