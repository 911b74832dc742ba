"""One step of the simulation, what leaves the surface, how deep damage goes: worked out by hand."""

from math import exp, inf, log

import numpy as np
import pytest

from api.dose.heat_model import Heat, Medium, cell_sizes_m, depth_of_damage_m
from api.dose.heating import damage_temperature_k
from api.errors import BadInput
from tests.dose.heats import STILL


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
    heat.damage = np.array([6.0, 4.0, 2.0])
    heat.step(1e-12, 0.0)
    assert heat.removed_m == pytest.approx(1)
    # Half of the second cell; its other half and half of the third; the other half of that.
    assert heat.damage == pytest.approx([4, 3, 1])
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
    # Cells of 1, 2, 2 m: as above, and what is warm now adds less than a hundredth of it.
    heat = _still(50.0, 20.0, 10.0, sizes=(1.0, 2.0, 2.0))
    heat._damage_rate = np.array([6.0, 4.0, 2.0])
    heat.step(2.0, 0.0)
    assert heat.damage == pytest.approx([4, 3, 1], abs=0.01)


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
    ([exp(0.5), exp(-0.5), 0.0], 2.0),
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


@pytest.mark.parametrize("time_s", [0.25, 0.2])
def test_no_temperature_damages_in_no_time(time_s: float) -> None:
    # T = (E/R) / ln(A t): ln A = ln 4 and 0.25 s make it endless.
    with pytest.raises(BadInput) as caught:
        damage_temperature_k(time_s=time_s, log_frequency=-log(0.25), activation_k=75_000.0)
    assert caught.value.code == "out_of_range"
    assert caught.value.errors == {"time_s": [f"time_s is {time_s}, too short"]}


def test_any_divisor_above_nothing_gives_a_temperature() -> None:
    # 75000 K / (ln 1 + 0.5).
    found = damage_temperature_k(time_s=1.0, log_frequency=0.5, activation_k=75_000.0)
    assert found == pytest.approx(150_000)
