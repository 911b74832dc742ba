"""The beam over time as a list of stretches, and the steps through one, worked out by hand."""

from math import inf, log, pi, sqrt

import pytest

from api.dose.emitted import solve_emission
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
from tests.dose.heats import GATES, PULSED, parsed


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
    # Which of two powers holds nobody knows.
    ({"mode": "continuous", "power": "4 W", "average_power": "9 W"}, None),
])  # fmt: skip
def test_a_train_is_read_from_what_an_emission_settles(emission: dict, expected) -> None:
    given = parsed(**emission)
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
    (Train(5.0, inf, None, 0.2, 0.5), 1.0, [0.2, -0.3, 0.2, -0.3]),
    # A pulse may be very short, and the whole time as well.
    (Train(5.0, 1e-7, 5e-4), 1e-3, [1e-7, -(5e-4 - 1e-7)] * 2),
    (Train(5.0, 1e-7, 3e-7), 4e-7, [1e-7, -2e-7, 1e-7]),
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
    (1e-3, 9.999e-4, 1.0, 2.0, [9.999e-4, 1e-7]),
    # A rest of rounding is no step.
    (1 + 1e-12, 1.0, 10.0, 2.0, [1.0]),
    (1 + 1e-6, 1.0, 10.0, 2.0, [1.0, 1e-6]),
])  # fmt: skip
def test_steps_grow_and_fill_the_time(seconds, first, most, growth, expected) -> None:
    found = steps(seconds, first_s=first, most_s=most, growth=growth)
    assert found == pytest.approx(expected, rel=1e-9)
