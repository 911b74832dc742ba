"""The parts of the simulation one by one, each against what its words say, worked out by hand.

The beam over time as a list of stretches, the steps through one, what is taken off the surface, how
deep damage goes, and which of the points are shown.
"""

from math import exp, inf, log, pi, sqrt

import numpy as np
import pytest

from api.dose import heat as simulation
from api.dose.emitted import solve_emission
from api.dose.heat_model import Heat, Medium, cell_sizes_m, depth_of_damage_m
from api.dose.heat_plan import COARSE, FINE, MEAN, Plan, plan_for
from api.dose.heat_train import (
    Stretch,
    Train,
    averaged,
    mean_power_w,
    pulse_count,
    steps,
    stretches,
    train_from,
)
from api.dose.heating import damage_temperature_k
from api.dose.request import parse
from api.dose.schema import HeatRequestSchema
from api.errors import BadInput

PULSED = {
    "wavelength": "10.6 um",
    "emission": {"mode": "pulsed", "pulse_energy": "10 mJ", "repetition_rate": "100 Hz",
                 "pulse_duration": "400 us"},
    "spot": {"diameter": "0.4 mm", "diameter_definition": "1/e2"},
    "tissue": {"kind": "oral mucosa"},
    "duration": "20 ms",
}  # fmt: skip
GATES = {"mode": "gated", "gate_on": "20 ms", "gate_off": "30 ms"}
# 4 W while each gate is open; no heat passes from cell to cell, and one cell is 1 m.
STILL = Medium(1e-30, 2.0, 1.0, 3.0, 5.0, 40.0)


def _parsed(**emission: object):
    return parse({**PULSED, "emission": emission}, HeatRequestSchema)


@pytest.mark.parametrize(("emission", "expected"), [
    (PULSED["emission"], Train(25.0, 4e-4, 1e-2)),
    # 30 W x 1.0645 for a Gaussian pulse: a rectangular one of its energy and half width.
    ({"mode": "pulsed", "peak_power": "30 W", "repetition_rate": "50 Hz", "pulse_shape": "gaussian",
      "pulse_duration": "1 ms"}, Train(30 * sqrt(pi / log(2)) / 2, 1e-3, 2e-2)),
    ({"mode": "continuous", "power": "0.5 W"}, Train(0.5, inf, None)),
    ({**GATES, "power": "4 W", "power_kind": "peak"}, Train(4.0, inf, None, 0.02, 0.05)),
    ({**GATES, "pulse_energy": "10 mJ", "repetition_rate": "200 Hz", "pulse_duration": "400 us"},
     Train(25.0, 4e-4, 5e-3, 0.02, 0.05)),
    ({"mode": "gated", "gate_on": "20 ms", "peak_power": "4 W"}, None),
    ({"mode": "gated", "gate_off": "20 ms", "peak_power": "4 W"}, None),
    ({**GATES, "pulse_duration": "1 ms", "peak_power": "4 W"}, None),
    ({**GATES, "repetition_rate": "200 Hz", "peak_power": "4 W"}, None),
    ({"mode": "pulsed", "pulse_energy": "10 mJ", "pulse_duration": "1 ms"}, None),
    ({"mode": "pulsed", "repetition_rate": "1 Hz", "pulse_duration": "1 ms"}, None),
    ({"mode": "pulsed", "peak_power": "4 W"}, None),
])  # fmt: skip
def test_a_train_is_read_from_what_an_emission_settles(emission: dict, expected) -> None:
    given = _parsed(**emission)
    known, _ = solve_emission(given)
    found = train_from(given, known)
    if expected is None:
        assert found is None
        return
    for name in ("power_w", "pulse_s", "period_s", "gate_s", "gate_period_s"):
        wanted = getattr(expected, name)
        wanted = wanted if wanted in (None, inf) else pytest.approx(wanted, rel=1e-9)
        assert getattr(found, name) == wanted, name


def test_the_mean_of_a_train_is_over_its_pulses_and_gates() -> None:
    # 60 W in 6 % of the time: 3.6 W; half of it where gates are open half of the time.
    assert mean_power_w(Train(60.0, 3e-4, 5e-3)) == pytest.approx(3.6)
    assert mean_power_w(Train(60.0, 3e-4, 5e-3, 0.05, 0.1)) == pytest.approx(1.8)
    assert mean_power_w(Train(60.0, inf, None, 0.05, 0.1)) == pytest.approx(30)
    assert mean_power_w(Train(60.0, inf, None)) == 60
    mean = averaged(Train(60.0, 3e-4, 5e-3, 0.05, 0.1))
    assert mean == Train(pytest.approx(1.8), inf, None)


@pytest.mark.parametrize(("train", "count"), [
    (Train(1.0, inf, None), 1),
    (Train(1.0, 3e-4, 5e-3), 200),
    (Train(1.0, 3e-4, 5e-3, 0.05, 0.1), 100),
    (Train(1.0, inf, None, 0.05, 0.1), 10),
    (Train(1.0, 3e-4, 5e-3, 2.0, 3.0), 200),
    (Train(1.0, 3e-4, 5e-3, 1e-3, 0.1), 10),
    (Train(1.0, 3e-4, 5.0), 1),
])  # fmt: skip
def test_pulses_of_a_second_are_counted(train: Train, count: float) -> None:
    assert pulse_count(train, 1.0) == pytest.approx(count)


# Train, seconds, and what follows: seconds of light (+) and of dark (-).
BEAMS = [
    (Train(5.0, inf, None), 1.0, [1.0]),
    (Train(5.0, 0.1, 0.3), 0.75, [0.1, -0.2, 0.1, -0.2, 0.1, -0.05]),
    (Train(5.0, 0.1, 0.3), 0.65, [0.1, -0.2, 0.1, -0.2, 0.05]),
    (Train(5.0, 0.1, 0.3), 0.6, [0.1, -0.2, 0.1, -0.2]),
    (Train(5.0, 0.1, 0.1), 0.3, [0.1, 0.1, 0.1]),
    (Train(5.0, inf, None, 0.2, 0.5), 1.1, [0.2, -0.3, 0.2, -0.3, 0.1]),
    (Train(5.0, inf, None, 0.2, 0.2), 0.4, [0.2, 0.2]),
    (Train(5.0, 0.1, 0.3, 0.35, 0.5), 0.9, [0.1, -0.2, 0.05, -0.15, 0.1, -0.2, 0.05, -0.05]),
    (Train(5.0, 0.1, 0.3, 0.2, 0.5), 0.5, [0.1, -0.1, -0.3]),
    # Three tenths are a little more than 0.3 in floats: no fourth pulse.
    (Train(5.0, 0.05, 0.1, 0.3, 1.0), 1.0, [0.05, -0.05, 0.05, -0.05, 0.05, -0.05, -0.7]),
]  # fmt: skip


@pytest.mark.parametrize(("train", "seconds", "expected"), BEAMS)
def test_a_beam_is_its_stretches(train: Train, seconds: float, expected: list[float]) -> None:
    found = list(stretches(train, seconds))
    assert [one.duration_s for one in found] == pytest.approx([abs(one) for one in expected])
    assert found == [
        Stretch(one.duration_s, 5.0 if wanted > 0 else 0.0, wanted > 0)
        for one, wanted in zip(found, expected, strict=True)
    ]


@pytest.mark.parametrize(("seconds", "first", "most", "growth", "expected"), [
    # What is left when the steps have grown to 0.4 is 0.7: two even ones.
    (1.0, 0.1, 0.4, 2.0, [0.1, 0.2, 0.35, 0.35]),
    # No step is longer than the most, also where growing would go past it.
    (1.0, 0.1, 0.3, 2.0, [0.1, 0.2, 0.7 / 3, 0.7 / 3, 0.7 / 3]),
    (1.0, 2.0, 3.0, 2.0, [1.0]),
    (1.0, 0.5, 0.1, 2.0, [0.5, 0.5]),
    (7.0, 1.0, inf, 2.0, [1.0, 2.0, 4.0]),
    (0.3, 0.1, 0.1, 2.0, [0.1, 0.1, 0.1]),
    (0.31, 0.1, 0.1, 2.0, [0.0775] * 4),
    (1.0, 0.9, 10.0, 2.0, [0.9, 0.1]),
    # A rest of rounding is no step.
    (1 + 1e-12, 1.0, 10.0, 2.0, [1.0]),
    (1 + 1e-6, 1.0, 10.0, 2.0, [1.0, 1e-6]),
])  # fmt: skip
def test_steps_grow_and_fill_the_time(seconds, first, most, growth, expected) -> None:
    found = steps(seconds, first_s=first, most_s=most, growth=growth)
    assert found == pytest.approx(expected, rel=1e-9)


def test_cells_are_even_at_the_surface_and_grow_below() -> None:
    # A sixteenth of the absorption depth, 80 of them, then each 12 % more: as the table of
    # constants says, down to the reach and no cell more.
    sizes = cell_sizes_m(1000.0, 0.01)
    assert sizes[:80] == pytest.approx([1e-3 / 16] * 80)
    assert np.array(sizes[80:]) / np.array(sizes[79:-1]) == pytest.approx(1.12)
    assert sum(sizes[:-1]) < 0.01 <= sum(sizes)
    assert cell_sizes_m(1.0, 5.0) == [1 / 16] * 80


def _still(*enthalpy: float, sizes: tuple[float, ...] | None = None) -> Heat:
    heat = Heat(STILL, list(sizes or (1.0,) * len(enthalpy)))
    heat.enthalpy_j_m3 = np.array(enthalpy)
    return heat


def test_what_is_beyond_the_heat_of_ablation_leaves_and_passes_its_rest_on() -> None:
    # 50, 30, 10 where 40 is taken by each cell: the first leaves 10, which make the second leave.
    heat = _still(50.0, 30.0, 10.0, 0.0)
    heat.damage = np.array([7.0, 5.0, 3.0, 1.0])
    heat.step(1e-12, 0.0)
    assert heat.enthalpy_j_m3 == pytest.approx([10, 0, 0, 0])
    assert heat.removed_m == pytest.approx(2)
    assert heat.damage == pytest.approx([3, 1, 0, 0])
    # Cells of 1, 2, 2 m: 10 J/m2 go on to the second, and everything moves up by one metre.
    heat = _still(50.0, 20.0, 10.0, sizes=(1.0, 2.0, 2.0))
    heat.step(1e-12, 0.0)
    assert heat.removed_m == pytest.approx(1)
    assert heat.enthalpy_j_m3 == pytest.approx([25, 17.5, 5])
    # Again: what was removed adds up.
    heat.enthalpy_j_m3 = np.array([40.0, 0.0, 0.0])
    heat.step(1e-12, 0.0)
    assert heat.removed_m == pytest.approx(2)
    # Exactly the heat of ablation is enough, less is not; everything may go.
    heat = _still(40.0, 39.9)
    heat.step(1e-12, 0.0)
    assert heat.enthalpy_j_m3 == pytest.approx([39.9, 0])
    heat.step(1e-12, 0.0)
    assert heat.removed_m == pytest.approx(1)
    heat = _still(90.0, 90.0)
    heat.step(1e-12, 0.0)
    assert heat.removed_m == pytest.approx(2)
    assert heat.enthalpy_j_m3 == pytest.approx([0, 0])


def test_the_rate_of_damage_moves_with_its_tissue() -> None:
    """Cells at 37, 38 and 38.25 degC; when the first goes, the others keep what they were at."""
    heat = _still(0.0, 2.0, 2.5)
    heat.step(1e-12, 0.0)
    held = heat._rate()
    heat.enthalpy_j_m3[0] = 40.0
    heat.damage[:] = 0.0
    heat.step(2.0, 0.0)
    # For two seconds, one cell further up.
    assert heat.damage[:2] == pytest.approx(2 * held[1:], rel=1e-3)


def test_temperature_rests_while_water_boils() -> None:
    # 2 J/K: boiling at 3 J, dry at 5 J.
    heat = _still(1.0, 3.0, 4.0, 5.0, 7.0)
    heat.step(1e-12, 0.0)
    assert heat.rise_k == pytest.approx([0.5, 1.5, 1.5, 1.5, 2.5])


def test_the_surface_is_level() -> None:
    # A parabola with a level top through two cell centres: first + (first - second) / 8.
    heat = _still(0.0, 0.0)
    heat.rise_k = np.array([9.0, 1.0])
    assert heat.surface_rise_k() == pytest.approx(10)
    heat.enthalpy_j_m3 = np.array([3.0, 0.0])
    assert heat.surface_rise_k() == 9
    heat.enthalpy_j_m3 = np.array([2.999, 0.0])
    assert heat.surface_rise_k() == pytest.approx(10)


def test_energy_is_accounted_for() -> None:
    heat = _still(0.0, 0.0)
    assert heat.balance_error() == 0
    heat.step(2.0, 3.0)
    assert heat.absorbed_j_m2 == pytest.approx(6)
    assert heat.held_j_m2() == pytest.approx(6)
    # exp(-1) passes the first metre, the last cell takes what is left.
    assert heat.enthalpy_j_m3 == pytest.approx([6 * (1 - exp(-1)), 6 * exp(-1)])
    heat.step(1.0, 4.0)
    assert heat.absorbed_j_m2 == pytest.approx(10)
    # Half of it gone, a twentieth too much, and what was removed at 40 J/m3.
    heat.enthalpy_j_m3 = np.array([4.0, 1.0])
    assert heat.balance_error() == pytest.approx(-0.5)
    heat.removed_m = 0.25
    assert heat.balance_error() == pytest.approx(0.5)
    assert heat.depths_m() == [0.5, 1.5]
    assert Heat(STILL, [1.0, 2.0]).depths_m() == [0.5, 2.0]


def test_heat_evens_out_between_two_cells() -> None:
    """Two cells of 1 m and 2 J/K, 1 W/K between them: the difference falls as exp(-t).

    d(T1 - T2)/dt = -2 k / (C s) (T1 - T2). The sum stays. An L-stable method: a step of any
    length goes to the mean and never past it.
    """
    medium = Medium(1.0, 2.0, 1.0, inf, inf, inf)
    heat = Heat(medium, [1.0, 1.0])
    heat.enthalpy_j_m3 = np.array([4.0, 0.0])
    heat.rise_k = np.array([2.0, 0.0])
    for _ in range(200):
        heat.step(0.005, 0.0)
    assert heat.rise_k == pytest.approx([1 + exp(-1), 1 - exp(-1)], rel=1e-5)
    assert heat.held_j_m2() == pytest.approx(4)
    heat.step(1e6, 0.0)
    assert heat.rise_k == pytest.approx([1, 1], abs=1e-5)
    # 1 and 3 m: 2 m from middle to middle, half the flow.
    heat = Heat(medium, [1.0, 3.0])
    heat.enthalpy_j_m3 = np.array([4.0, 0.0])
    heat.rise_k = np.array([2.0, 0.0])
    heat.step(1e-4, 0.0)
    # 0.5 W/K x 2 K x 0.1 ms.
    assert 4 - heat.enthalpy_j_m3[0] == pytest.approx(1e-4, rel=1e-3)
    assert heat.enthalpy_j_m3[1] == pytest.approx(1e-4 / 3, rel=1e-3)


def test_an_absorbed_beam_is_second_order_with_conduction() -> None:
    """The same two cells under 1 W/m2 for a second: u' = -u + q, u the difference.

    The first takes 1 - 1/e, the second 1/e of it: q = (1 - 2/e) / 2 K/s, u = q (1 - exp(-t)).
    """
    heat = Heat(Medium(1.0, 2.0, 1.0, inf, inf, inf), [1.0, 1.0])
    for _ in range(50):
        heat.step(0.02, 1.0)
    difference = (1 - 2 / exp(1)) / 2 * (1 - exp(-1))
    assert heat.rise_k[0] - heat.rise_k[1] == pytest.approx(difference, rel=2e-4)
    assert heat.rise_k.sum() == pytest.approx(0.5)
    one = Heat(Medium(1.0, 2.0, 1.0, inf, inf, inf), [1.0, 1.0])
    one.step(0.2, 1.0)
    two = Heat(Medium(1.0, 2.0, 1.0, inf, inf, inf), [1.0, 1.0])
    two.step(0.1, 1.0)

    def off(heat: Heat, time_s: float) -> float:
        wanted = (1 - 2 / exp(1)) / 2 * (1 - exp(-time_s))
        return abs(heat.rise_k[0] - heat.rise_k[1] - wanted)

    # The error of one step of a second-order method falls eightfold with half the step.
    assert off(one, 0.2) / off(two, 0.1) == pytest.approx(8, rel=0.2)


def test_damage_grows_as_the_law_says() -> None:
    # ln(3.1e98) - 75000 / T at 60 degC = 333.15 K (`henriques1947`).
    heat = _still(0.0, 0.0)
    heat.rise_k = np.array([23.0, 0.0])
    rate = exp(log(3.1e98) - 75000 / 333.15)
    assert heat._rate()[0] == pytest.approx(rate, rel=1e-9)
    heat = Heat(Medium(1e-30, 2.0, 1.0, inf, inf, inf), [1.0, 1.0])
    heat.enthalpy_j_m3 = np.array([46.0, 0.0])
    heat.rise_k = np.array([23.0, 0.0])
    heat.step(1.0, 0.0)
    body = exp(log(3.1e98) - 75000 / 310.15)
    assert heat.damage[0] == pytest.approx((rate + body) / 2, rel=1e-9)
    heat.step(2.0, 0.0)
    assert heat.damage[0] == pytest.approx((rate + body) / 2 + 2 * rate, rel=1e-9)
    assert heat.damage[1] == pytest.approx(3 * body, rel=1e-9)


@pytest.mark.parametrize(("damage", "depth"), [
    ([0.999, 0.5], 0),
    ([exp(2), exp(-2), 0.0], 2.0),
    ([exp(1), exp(-3), 0.0], 1.0),
    ([9.0, exp(1), exp(-1)], 5.0),
    ([9.0, 1.0, 0.5], 4.0),
    ([1.0, 0.5, 0.0], 0.0),
    ([3.0, 2.0, 1.5], 6.0),
    # Nothing below: as little as exp(-700).
    ([exp(7), 0.0, 0.0], 4 * 7 / 707),
    ([exp(1), exp(-1), 5.0], 2.0),
])  # fmt: skip
def test_damage_reaches_down_to_one(damage: list[float], depth: float) -> None:
    found = depth_of_damage_m([0.0, 4.0, 6.0][: len(damage)], damage)
    assert found == pytest.approx(depth, rel=1e-12)


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
    # Few ends: of all points a thousand.
    few = shown(1001, every_tenth[:100])
    assert len(few) == 1000
    assert (few[0], few[-1]) == (0, 1000)


def test_tissue_is_taken_as_stated() -> None:
    medium = simulation.medium_of(_parsed(**PULSED["emission"]))
    # 1060 kg/m3, 3600 J/(kg K), 63 K to boiling; 0.7 x 2.257 MJ/kg of it boils; 3740 J/g.
    assert medium.conductivity_w_m_k == 0.5
    assert medium.heat_capacity_j_m3_k == pytest.approx(3.816e6)
    assert medium.boiling_heat_j_m3 == pytest.approx(240.408e6)
    assert medium.dry_heat_j_m3 == pytest.approx(240.408e6 + 1060 * 0.7 * 2.257e6)
    assert medium.removal_heat_j_m3 == pytest.approx(3.9644e9)
    # 0.7 x 4 pi k / lambda, k = 0.0662 + 0.2 x 0.0306 (`hale1973`).
    assert medium.absorption_per_m == pytest.approx(0.7 * 4 * pi * 0.07232 / 10.6e-6)


# Two pulses of 0.1 mJ: 25 W / 100, over 0.4 mm.
WEAK = {**PULSED, "emission": {**PULSED["emission"], "pulse_energy": "0.1 mJ"}}


def test_an_answer_says_what_its_numbers_are() -> None:
    answer = simulation.respond(WEAK)
    assert answer["engine"] == "1.0.0"
    assert answer["basis"] == "set"
    assert answer["resolution"] == "fine"
    # 0.25 W over the disc of 0.4 mm.
    assert answer["irradiance"] == {"value": pytest.approx(0.25 / (pi * 0.02**2)), "unit": "W/cm2"}
    assert answer["valid_until"] == {
        "value": pytest.approx(2e-4**2 / (4 * 0.5 / 3.816e6)), "unit": "s",
    }  # fmt: skip
    assert answer["constants"]["damage_log_frequency"]["value"] == pytest.approx(log(3.1e98))
    assert answer["constants"]["damage_log_frequency"]["unit"] == "1"
    assert answer["constants"]["damage_activation"] == {"value": 75000, "unit": "K"}
    results = answer["results"]
    units = {name: result["unit"] for name, result in results.items()}
    assert units == {
        "time": "s", "surface_temperature": "Cel", "residual_time": "s",
        "residual_temperature": "Cel", "depth": "um", "temperature": "Cel", "damage": "1",
        "removed_depth": "um", "damage_depth": "um", "energy_balance_error": "1",
    }  # fmt: skip
    for name, source in (("removed_depth", "payne1997"), ("damage_depth", "henriques1947"),
                         ("energy_balance_error", "definition")):  # fmt: skip
        assert results[name]["sources"] == [source]
        module, _, function = results[name]["formula"].rpartition(".")
        assert (module, function) == ("api.dose.heat", "run")
    assert results["removed_depth"]["value"] == 0
    assert results["damage_depth"]["value"] == 0
    # The second pulse starts at 10 ms; before it the tissue has cooled, and the run ends at 20 ms.
    times, surface = results["time"]["values"], results["surface_temperature"]["values"]
    assert results["residual_time"]["values"] == pytest.approx([0.01])
    assert times[0] == 0 and surface[0] == 37
    assert times[-1] == pytest.approx(0.02)
    assert answer["steps"] == len(times) - 1
    place = int(np.argmin(np.abs(np.array(times) - 0.01)))
    assert results["residual_temperature"]["values"] == [surface[place]]
    assert 37 < surface[place] < max(surface)
    # The first cell is half a sixteenth of an absorption depth below the surface.
    assert results["depth"]["values"][0] == pytest.approx(
        1e6 / 32 / (0.7 * 4 * pi * 6822.64), rel=1e-4
    )
    assert results["temperature"]["values"][-1] == pytest.approx(37, abs=1e-6)


@pytest.mark.parametrize(("change", "codes"), [
    ({}, []),
    ({"duration": "77 ms"}, ["outside_validity"]),
    ({"emission": {**WEAK["emission"], "pulse_shape": "triangular"}}, ["rectangular"]),
    # A shape without pulses means nothing.
    ({"emission": {"mode": "continuous", "power": "1 mW"}}, []),
    ({"emission": {**WEAK["emission"], "repetition_rate": "2 kHz"}, "duration": "40 s",
      "spot": {"diameter": "30 mm", "diameter_definition": "1/e2"}}, ["coarser"]),
])  # fmt: skip
def test_cautions_stand_in_their_order(change: dict, codes: list[str]) -> None:
    warnings = simulation.respond({**WEAK, **change})["warnings"]
    usual = ["model", "beside_measured", "mean_irradiance", "extrapolated"]
    assert [one["code"] for one in warnings] == usual + codes
    sources = {
        "beside_measured": ["suter2017", "tongue2014", "damagerange"],
        "extrapolated": ["henriques1947"],
        "outside_validity": ["carslaw1959"],
    }
    for one in warnings:
        assert one["sources"] == sources.get(one["code"], [])
        assert one["text"]
    assert len({one["text"] for one in warnings}) == len(warnings)


@pytest.mark.parametrize(("change", "errors"), [
    ({"spot": ...}, {"spot": ["is required"]}),
    ({"tissue": ...}, {"tissue": ["is required"]}),
    ({"spot": ..., "tissue": ...}, {"spot": ["is required"], "tissue": ["is required"]}),
    ({"tissue": {"water_fraction": 0.7}}, {"tissue": ["the tissue's density is not stated"]}),
    ({"tissue": {"water_fraction": 0.7, "density": "1060 kg/m3", "specific_heat": "3600 J/kg/K",
                 "conductivity": "0.5 W/m/K"}},
     {"tissue": ["the tissue's ablation heat is not stated"]}),
    ({"wavelength": "5 um"}, {"wavelength": ["no absorption values are held for this wavelength"]}),
    ({"emission": {"mode": "pulsed", "power": "4 W"}}, {"emission": [simulation.NO_TRAIN]}),
])  # fmt: skip
def test_a_refusal_says_what_is_lacking(change: dict, errors: dict) -> None:
    request = {name: value for name, value in {**PULSED, **change}.items() if value is not ...}
    with pytest.raises(BadInput) as caught:
        simulation.respond(request)
    assert caught.value.code == "bad_request"
    assert caught.value.errors == errors


@pytest.mark.parametrize("time_s", [0.25, 0.2])
def test_no_temperature_damages_in_no_time(time_s: float) -> None:
    # T = (E/R) / ln(A t): ln A = ln 4 and 0.25 s make it endless.
    with pytest.raises(BadInput) as caught:
        damage_temperature_k(time_s=time_s, log_frequency=-log(0.25), activation_k=75_000.0)
    assert caught.value.code == "out_of_range"
    assert caught.value.errors == {"time_s": [f"time_s is {time_s}, too short"]}
