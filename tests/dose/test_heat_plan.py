"""How fine a simulation is, how deep it reaches, and which of its points are shown: by hand."""

from math import inf

import numpy as np
import pytest

from api.dose import heat as simulation
from api.dose.heat_model import Medium
from api.dose.heat_plan import COARSE, FINE, MEAN, Plan, plan_for
from api.dose.heat_train import Train


def _plan(train: Train, *, seconds: float = 1.0, resolution: str = FINE, area: float = 2.0) -> Plan:
    # kappa 1 m2/s, absorption 1 /m, 48 J/m3 to be removed.
    return Plan(Medium(2.0, 2.0, 1.0, inf, inf, 48.0), train, area, seconds, resolution)


def test_a_plan_divides_what_it_is_made_of() -> None:
    fine = _plan(Train(4.0, inf, None))
    coarse = _plan(Train(4.0, inf, None), resolution=COARSE)
    assert (fine.in_pulse, coarse.in_pulse) == (24, 6)
    assert (fine.growth, coarse.growth) == (1.15, 2)
    assert fine.diffusivity_m2_s == 1
    # In the dark the first step is 1 / (kappa mu2 24) s, and they grow without end.
    dark = fine.steps_of(100.0, 0.0)
    assert dark[0] == pytest.approx(1 / 24)
    assert np.array(dark[1:-1]) / np.array(dark[:-2]) == pytest.approx(1.15)
    assert sum(dark) == pytest.approx(100)
    assert coarse.steps_of(100.0, 0.0)[:2] == pytest.approx([1 / 6, 1 / 3])
    # A weak beam for 0.24 s: the 24th part of it, 10 ms, is less than 1/24 s. All even.
    assert fine.steps_of(0.24, 1e-9) == pytest.approx([0.01] * 24)
    # For 48 s: from 1/24 s, growing, to 2 s at most.
    long = fine.steps_of(48.0, 1e-9)
    assert long[0] == pytest.approx(1 / 24)
    assert long[1] == pytest.approx(1.15 / 24)
    assert 1.8 < max(long) <= 2
    # 48 / (2 x 1 x 600) = 40 ms remove half a cell: no step is longer.
    strong = fine.steps_of(48.0, 600.0)
    assert 0.039 < max(strong) <= 0.04
    # A short and strong pulse: not below a fourth of its even steps.
    assert fine.steps_of(0.24, 1e6) == pytest.approx([0.0025] * 96)
    # So is one of just 24 first steps.
    assert fine.steps_of(1.0, 24_000.0) == pytest.approx([1 / 96] * 96)
    # Twice the absorption: half the cell, 20 ms.
    sharp = Plan(Medium(2.0, 2.0, 2.0, inf, inf, 48.0), fine.train, 2.0, 1.0, FINE)
    assert 0.019 < max(sharp.steps_of(48.0, 600.0)) <= 0.02
    # Longer than 24 first steps there is no such floor, but for what is affordable.
    assert fine.steps_of(1.5, 24_000.0) == pytest.approx([1e-3] * 1500)
    assert 32_000 < len(fine.steps_of(1.5, 1e12)) < 32_200
    assert len(coarse.steps_of(24.0, 1e12)) == 4_000
    assert len(coarse.steps_of(6.5, 1e12)) == 4_000


def test_a_finer_plan_is_taken_while_it_is_affordable() -> None:
    assert _plan(Train(4.0, 1e-4, 1e-2), seconds=1.0).affordable()
    # More than 16,000 steps: 700 pulses of 24 and more.
    assert not _plan(Train(4.0, 1e-3, 1e-2), seconds=7.0).affordable()
    # 8,000 pulses with a pause each would be too many already if each took a single step.
    assert not _plan(Train(4.0, 1e-6, 1e-5), seconds=1.0, resolution=COARSE).affordable()
    # Four stretches of 4,000 steps each are just affordable.
    assert _plan(Train(2e12, 6.5, 6.5), seconds=26.0, resolution=COARSE).affordable()
    medium = _plan(Train(1.0, inf, None)).medium

    def resolution(train: Train, seconds: float) -> Plan:
        return plan_for(medium=medium, train=train, area_m2=2.0, duration_s=seconds)

    assert resolution(Train(4.0, 1e-3, 1e-2), 1.0).resolution == FINE
    coarse = resolution(Train(4.0, 1e-3, 1e-2), 12.0)
    assert coarse == Plan(medium, Train(4.0, 1e-3, 1e-2), 2.0, 12.0, COARSE)
    mean = resolution(Train(4.0, 1e-3, 1e-2), 100.0)
    assert mean.resolution == MEAN
    assert mean.train == Train(pytest.approx(0.4), inf, None)
    assert (mean.medium, mean.area_m2, mean.duration_s) == (medium, 2.0, 100.0)


def test_the_model_reaches_below_all_heat() -> None:
    """10 absorption depths, five lengths of spreading, twice what one step removes.

    sqrt(4 kappa t) = 2 m in a second; 96 W over 2 m2 for steps of 1/24 s: 2 J of 48 J/m3.
    """
    weak = _plan(Train(1e-9, inf, None))
    assert weak.reach_m() == pytest.approx(10 + 5 * 2)
    strong = _plan(Train(96.0, 1.0, 2.0))
    assert max(strong.steps_of(1.0, 48.0)) == pytest.approx(1 / 24)
    assert strong.reach_m() == pytest.approx(10 + 5 * 2 + 2 / 24)


def test_points_are_thinned_evenly_with_both_ends() -> None:
    assert simulation.thinned(list(range(10)), 4) == [0, 3, 6, 9]
    assert simulation.thinned([5, 6, 7, 8], 4) == [5, 6, 7, 8]
    assert simulation.thinned([5, 6, 7, 8, 9], 4) == [5, 6, 7, 9]


def test_of_a_long_train_the_ends_of_its_stretches_are_shown() -> None:
    def shown(points: int, ends: list[int]) -> list[int]:
        curve = simulation.Curve([0.0] * points, [0.0] * points, ends)
        return simulation._shown_points(curve)

    every_tenth = list(range(0, 2000, 10))
    assert shown(1000, every_tenth[:90]) == list(range(1000))
    assert shown(1001, every_tenth[:101]) == every_tenth[:101]
    # As many points as are shown: all of them, however many ends.
    assert shown(1000, [*every_tenth[:99], 991, 999]) == list(range(1000))
    # Few ends: of all points a thousand.
    few = shown(1001, every_tenth[:100])
    assert len(few) == 1000
    assert (few[0], few[-1]) == (0, 1000)


def test_the_ends_of_stretches_are_known_among_the_points() -> None:
    _, curve = simulation.run(_plan(Train(4.0, 0.1, 0.3), seconds=0.65))
    at_ends = [curve.times_s[place] for place in curve.ends]
    assert at_ends == pytest.approx([0, 0.1, 0.3, 0.4, 0.6, 0.65])
    assert curve.ends[-1] == len(curve.times_s) - 1
