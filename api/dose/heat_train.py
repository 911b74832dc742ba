"""A simulation's beam over time: stretches of even irradiance, and the steps through them."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from math import ceil, inf

from api.dose.request import DoseInput
from api.dose.solver import Known


@dataclass(frozen=True)
class Train:
    """Pulses of even power, in gates or not; a continuous beam is one pulse that does not end.

    ``gate_s`` and ``gate_period_s`` are None where no gate shuts, ``period_s`` where no pulse
    follows.
    """

    power_w: float
    pulse_s: float
    period_s: float | None
    gate_s: float | None = None
    gate_period_s: float | None = None


@dataclass(frozen=True)
class Stretch:
    """A time with one irradiance of the surface; ``starts_pulse`` as a pulse does."""

    duration_s: float
    power_w: float
    starts_pulse: bool


def _value(known: Mapping[str, Known], name: str) -> float | None:
    return known[name].value if name in known else None


def train_from(given: DoseInput, known: Mapping[str, Known]) -> Train | None:
    """Return the train of a solved emission at its tissue, or None where something is lacking.

    A pulse of another shape counts as a rectangular one of its energy and duration.
    """
    gate_s, pause_s = given.emission.get("gate_on"), given.emission.get("gate_off")
    gates: dict[str, float | None] = {}
    if given.mode == "gated":
        if gate_s is None or pause_s is None:
            return None
        gates = {"gate_s": gate_s, "gate_period_s": gate_s + pause_s}
    energy, duration = _value(known, "pulse_energy_j"), _value(known, "pulse_duration_s")
    period = _value(known, "pulse_period_s")
    if energy is not None and duration is not None and period is not None:
        return Train(energy / duration, min(duration, period), period, **gates)
    if given.mode == "continuous":
        power = _value(known, "average_power_w")
        return None if power is None else Train(power, inf, None)
    power = _value(known, "peak_power_w")
    if given.mode == "gated" and power is not None and duration is None and period is None:
        return Train(power, inf, None, **gates)
    return None


def mean_power_w(train: Train) -> float:
    """Return the power averaged over pulses and gates."""
    power = train.power_w
    if train.period_s is not None:
        power *= train.pulse_s / train.period_s
    if train.gate_s is not None and train.gate_period_s is not None:
        power *= train.gate_s / train.gate_period_s
    return power


def pulse_count(train: Train, duration_s: float) -> float:
    """Return about how many pulses, or gates of a continuous beam, start in the time."""
    gates = 1.0 if train.gate_period_s is None else duration_s / train.gate_period_s
    open_s = duration_s if train.gate_s is None else min(train.gate_s, duration_s)
    pulses = 1.0 if train.period_s is None else open_s / train.period_s
    return max(gates, 1.0) * max(pulses, 1.0)


def averaged(train: Train) -> Train:
    """Return a continuous beam of the same mean power, for trains of too many pulses."""
    return Train(mean_power_w(train), inf, None)


def stretches(train: Train, duration_s: float) -> Iterator[Stretch]:
    """Yield the beam over time, from its first pulse to the end of the time."""
    least = 1e-9 * duration_s
    gate_count = 0
    while True:
        opens = gate_count * (train.gate_period_s or 0.0)
        if opens >= duration_s - least:
            return
        shuts = duration_s if train.gate_s is None else min(opens + train.gate_s, duration_s)
        pulse_number = 0
        while True:
            starts = opens + pulse_number * (train.period_s or 0.0)
            if starts >= shuts - least:
                break
            ends = min(starts + train.pulse_s, shuts)
            yield Stretch(ends - starts, train.power_w, True)
            follows = shuts if train.period_s is None else min(starts + train.period_s, shuts)
            if follows - ends > least:
                yield Stretch(follows - ends, 0.0, False)
            pulse_number += 1
            if train.period_s is None:
                break
        gate_count += 1
        if train.gate_period_s is None:
            return
        again = min(gate_count * train.gate_period_s, duration_s)
        if again - shuts > least:
            yield Stretch(again - shuts, 0.0, False)


def steps(duration_s: float, *, first_s: float, most_s: float, growth: float) -> list[float]:
    """Return steps that grow from about ``first_s`` to at most ``most_s`` and fill the time."""
    step = min(first_s, duration_s)
    most = max(most_s, first_s)
    grown: list[float] = []
    left = duration_s
    while step < most and left > step:
        grown.append(step)
        left -= step
        step = min(step * growth, most)
    # 1e-9: what rounding leaves of the time is no step.
    count = max(1, ceil(left / step - 1e-9)) if left > 1e-9 * duration_s else 0
    return [*grown, *[left / count for _ in range(count)]]
