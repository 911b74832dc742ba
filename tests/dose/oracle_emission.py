"""Emissions for the oracle, as people enter them, with all that each means in exact fractions.

Written from the words of ISO 11145 and the contract: energy of a pulse = factor of its shape x peak
power x duration, average power = energy x rate, duty cycle = duration x rate; what a gate lets
through, counted pulse by pulse, over gate and pause.
"""

import random
from decimal import Decimal, localcontext
from fractions import Fraction
from math import ceil

from tests.dose.oracle_numbers import PI, drawn, pure, share, short, text

Values = dict[str, Fraction]
Emission = tuple[dict[str, object], Values]
PERIOD_TOLERANCE = Fraction(1, 10**9)
UNIT = {
    "average_power": "W", "peak_power": "W", "pulse_energy": "J", "pulse_duration": "s",
    "repetition_rate": "Hz", "pulse_period": "s", "duty_cycle": "1", "gate_on": "s",
    "gate_off": "s",
}  # fmt: skip
TIMES = (
    ("pulse_duration", "repetition_rate"),
    ("pulse_duration", "pulse_period"),
    ("duty_cycle", "repetition_rate"),
    ("duty_cycle", "pulse_period"),
    ("duty_cycle", "pulse_duration"),
)
# From two powers or a power and an energy to the times that they leave.
INVERSE = (
    ("pulse_energy", "average_power", "pulse_duration"),
    ("pulse_energy", "average_power", "duty_cycle"),
    ("peak_power", "average_power", "repetition_rate"),
    ("peak_power", "average_power", "pulse_duration"),
    ("pulse_energy", "peak_power", "repetition_rate"),
    ("pulse_energy", "peak_power", "duty_cycle"),
)
# Too little for a whole train: what follows is there, and nothing else.
PARTIAL = (
    ("pulse_energy", "repetition_rate"),
    ("pulse_energy", "pulse_period"),
    ("average_power", "repetition_rate"),
    ("average_power", "pulse_period"),
    ("peak_power", "duty_cycle"),
    ("average_power", "duty_cycle"),
    ("peak_power", "pulse_duration"),
    ("pulse_energy", "pulse_duration"),
)
SHAPES = ("rectangular", "triangular", "gaussian", "exponential")


def _gaussian_factor() -> Fraction:
    """Return the integral of exp(-4 ln 2 t^2 / FWHM^2) over FWHM: sqrt(pi / (4 ln 2))."""
    with localcontext(prec=50):
        return Fraction((PI / (4 * Decimal(2).ln())).sqrt())


# The area of a triangle is its peak times half of its base; of an exponential, peak times 1/e time.
SHAPE_FACTOR = dict.fromkeys(SHAPES, Fraction(1)) | {"gaussian": _gaussian_factor()}


def _state(draw: random.Random, values: Values, names: tuple[str, ...]) -> dict[str, object]:
    """Return these values as a request states them; one power may be the panel's."""
    stated: dict[str, object] = {}
    for name in names:
        value, unit = values[name], UNIT[name]
        shown = pure(draw, value) if unit == "1" else text(draw, value, unit)
        if unit == "W" and "power" not in stated and draw.random() < 0.5:
            stated |= {"power": shown, "power_kind": name.removesuffix("_power")}
        else:
            stated[name] = shown
    return stated


def _whole(*, energy: Fraction, rate: Fraction, duration: Fraction, factor: Fraction) -> Values:
    return {
        "average_power": energy * rate,
        "peak_power": energy / (factor * duration),
        "pulse_energy": energy,
        "pulse_duration": duration,
        "repetition_rate": rate,
        "pulse_period": 1 / rate,
        "duty_cycle": duration * rate,
        "off_time": 1 / rate - duration,
    }


def _rate_and_duration(draw: random.Random, names: tuple[str, str]) -> tuple[Fraction, Fraction]:
    """Return rate and duration of a train of which these two times are decimals."""
    rate, duration = drawn(draw, 0, 4), drawn(draw, -6, -2)
    period, duty = drawn(draw, -4, 0), share(draw)
    if names == ("pulse_duration", "repetition_rate"):
        return min(rate, Fraction(int(1 / duration))), duration
    if names == ("pulse_duration", "pulse_period"):
        return 1 / max(period, duration), duration
    if names == ("duty_cycle", "repetition_rate"):
        return rate, duty / rate
    if names == ("duty_cycle", "pulse_period"):
        return 1 / period, duty * period
    return duty / duration, duration


def _energy_from(draw: random.Random, name: str, per_energy: Fraction) -> Fraction:
    """Return the energy of a pulse of which this is a decimal, ``per_energy`` times the energy."""
    return drawn(draw, *((-4, 1) if name == "pulse_energy" else (-1, 2))) / per_energy


def _shape(draw: random.Random) -> tuple[dict[str, object], Fraction]:
    shape = draw.choice(SHAPES)
    stated = {} if shape == "rectangular" and draw.random() < 0.5 else {"pulse_shape": shape}
    return {"mode": "pulsed", **stated}, SHAPE_FACTOR[shape]


def train(draw: random.Random) -> Emission:
    """Return a train by two of its times and a power or energy."""
    mode, factor = _shape(draw)
    times = draw.choice(TIMES)
    rate, duration = _rate_and_duration(draw, times)
    power = draw.choice(("pulse_energy", "average_power", "peak_power"))
    per_energy = {"pulse_energy": Fraction(1), "average_power": rate}
    energy = _energy_from(draw, power, per_energy.get(power, 1 / (factor * duration)))
    values = _whole(energy=energy, rate=rate, duration=duration, factor=factor)
    return mode | _state(draw, values, (*times, power)), values


def inverse(draw: random.Random) -> Emission:
    """Return a train of which powers and energy say how long its pulses are, or how many."""
    mode, factor = _shape(draw)
    names = draw.choice(INVERSE)
    energy, peak, duty = drawn(draw, -4, 0), drawn(draw, 0.5, 3), share(draw, 900)
    if names[:2] == ("pulse_energy", "average_power"):
        rate = drawn(draw, -1, 2) / energy
        duration = short(duty / rate) if names[2] == "pulse_duration" else duty / rate
    elif names[:2] == ("peak_power", "average_power"):
        average = peak * duty
        if names[2] == "repetition_rate":
            rate = drawn(draw, 0, 4)
            duration = duty / factor / rate
        else:
            duration = drawn(draw, -6, -2)
            rate = duty / factor / duration
        energy = average / rate
    else:
        duration = energy / (factor * peak)
        rate = duty / duration
        if names[2] == "repetition_rate":
            rate = short(rate)
    values = _whole(energy=energy, rate=rate, duration=duration, factor=factor)
    return mode | _state(draw, values, names), values


def partial(draw: random.Random) -> Emission:
    """Return a train of which too little is entered to know all of it."""
    mode, factor = _shape(draw)
    names = draw.choice(PARTIAL)
    source = drawn(draw, *((-4, 1) if names[0] == "pulse_energy" else (-1, 2)))
    values = {names[0]: source}
    if names[1] == "duty_cycle":
        duty = share(draw)
        average = names[0] == "average_power"
        values["duty_cycle"] = duty
        values["peak_power" if average else "average_power"] = (
            source / (factor * duty) if average else source * factor * duty
        )
    elif names[1] == "pulse_duration":
        duration = drawn(draw, -6, -2)
        energy = names[0] == "pulse_energy"
        values["pulse_duration"] = duration
        values["peak_power" if energy else "pulse_energy"] = (
            source / (factor * duration) if energy else source * factor * duration
        )
    else:
        period = names[1] == "pulse_period"
        rate = 1 / drawn(draw, -4, 0) if period else drawn(draw, 0, 4)
        energy = names[0] == "pulse_energy"
        values |= {"repetition_rate": rate, "pulse_period": 1 / rate}
        values["average_power" if energy else "pulse_energy"] = (
            source * rate if energy else source / rate
        )
    return mode | _state(draw, values, names), values


def continuous(draw: random.Random) -> Emission:
    """Return a steady beam, whose power is average and peak at once."""
    power = drawn(draw, -1, 2)
    field = draw.choice(("power", "average_power", "peak_power"))
    stated = {"mode": "continuous", field: text(draw, power, "W")}
    return stated, {"average_power": power, "peak_power": power}


def _pause(draw: random.Random) -> Fraction:
    return Fraction(0) if draw.random() < 0.1 else drawn(draw, -4, 0)


def gated_beam(draw: random.Random) -> Emission:
    """Return a steady beam behind a gate."""
    opened, shut, power = drawn(draw, -4, 0), _pause(draw), drawn(draw, -1, 2)
    by = draw.choice(("average_power", "peak_power"))
    peak = power if by == "peak_power" else power * (opened + shut) / opened
    values = {
        "average_power": peak * opened / (opened + shut),
        "peak_power": peak,
        "gate_energy": peak * opened,
    }
    stated = _state(draw, values | {"gate_on": opened, "gate_off": shut},
                    ("gate_on", "gate_off", by))  # fmt: skip
    return {"mode": "gated", **stated}, values


def _near_edge(value: Fraction) -> bool:
    """Return whether a number is so near to 0, but not 0, that the tolerance would decide."""
    return 0 < abs(value) < Fraction(1, 10**6)


def gated_train(draw: random.Random) -> Emission:
    """Return a rectangular train behind a gate; one in three gates is a whole number of periods."""
    while True:
        times = draw.choice(TIMES)
        rate, duration = _rate_and_duration(draw, times)
        opened, shut = drawn(draw, -4, 0), _pause(draw)
        if draw.random() < 1 / 3 and "pulse_period" in times:
            opened = draw.randint(1, 30) / rate
        periods = opened * rate
        started = max(1, ceil(periods - PERIOD_TOLERANCE))
        # How much of the last pulse the gate lets through, in periods.
        room, needed = periods - (started - 1), duration * rate
        if not (_near_edge(periods - round(periods)) or _near_edge(room - needed)):
            break
    cut = room < needed
    equivalents = started - 1 + room / needed if cut else Fraction(started)
    by = draw.choice(("pulse_energy", "average_power", "peak_power"))
    per_energy = {
        "pulse_energy": Fraction(1),
        "average_power": equivalents / (opened + shut),
        "peak_power": 1 / duration,
    }
    energy = _energy_from(draw, by, per_energy[by])
    values = _whole(energy=energy, rate=rate, duration=duration, factor=Fraction(1)) | {
        "average_power": energy * per_energy["average_power"],
        "pulses_started_per_gate": Fraction(started),
        "pulses_complete_per_gate": Fraction(started - cut),
        "gate_energy": energy * equivalents,
    }
    stated = _state(draw, values | {"gate_on": opened, "gate_off": shut},
                    ("gate_on", "gate_off", *times, by))  # fmt: skip
    return {"mode": "gated", **stated}, values


EMISSIONS = {
    "train": train,
    "inverse": inverse,
    "partial": partial,
    "continuous": continuous,
    "gated beam": gated_beam,
    "gated train": gated_train,
}
