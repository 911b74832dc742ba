"""The engine's arithmetic against exact fractions: random panels, every result to 1e-9.

Written from the words of the contract, not from the engine: three independent values of a train are
drawn as decimals, all others follow in fractions, and any of them is stated.
"""

import random
from decimal import Decimal, localcontext
from fractions import Fraction

import pytest

from api.dose.evaluate import respond

SEED = 41_251_125
PI = Fraction("3.14159265358979323846264338327950288419716939937510582097494")
TOLERANCE = Fraction(1, 10**9)
# 4 pi k / lambda of water at 10.6 um, k = 0.0662 + 0.2 (0.0968 - 0.0662), per metre.
WATER_PER_M = 4 * PI * (Fraction("0.0662") + Fraction("0.0306") / 5) / Fraction("10.6e-6")
UNITS = {
    "W": (("W", 1), ("mW", 1000), ("kW", Fraction(1, 1000))),
    "J": (("J", 1), ("mJ", 1000), ("uJ", 10**6)),
    "s": (("s", 1), ("ms", 1000), ("us", 10**6)),
    "Hz": (("Hz", 1), ("kHz", Fraction(1, 1000))),
    "m": (("mm", 1000), ("um", 10**6), ("cm", 100)),
    "m/s": (("mm/s", 1000), ("cm/s", 100), ("m/s", 1)),
}


def _root(value: Fraction) -> Fraction:
    with localcontext(prec=50):
        return Fraction((Decimal(value.numerator) / Decimal(value.denominator)).sqrt())


def _logarithm(value: Fraction) -> Fraction:
    with localcontext(prec=50):
        return Fraction((Decimal(value.numerator) / Decimal(value.denominator)).ln())


def _tenth_power(exponent: Fraction) -> Fraction:
    """Return 10 to a power."""
    with localcontext(prec=50):
        power = Decimal(exponent.numerator) / Decimal(exponent.denominator)
        return Fraction(Decimal(10) ** power)


def _decimal(draw: random.Random, low: float, high: float) -> Fraction:
    """Return a number of three digits between two powers of ten."""
    return Fraction(f"{10 ** draw.uniform(low, high):.3g}")


def _text(draw: random.Random, value: Fraction, unit: str) -> str:
    """Return an exact quantity in one of its units."""
    name, factor = draw.choice(UNITS[unit])
    with localcontext(prec=30):
        scaled = value * factor
        number = Decimal(scaled.numerator) / Decimal(scaled.denominator)
        assert Fraction(number) == scaled
        return f"{number} {name}"


def _train(draw: random.Random) -> tuple[dict[str, object], dict[str, Fraction]]:
    """Return the emission of a request, and the whole train that it means."""
    duty = Fraction(draw.randint(1, 1000), 1000)
    rate = _decimal(draw, 0, 4)
    duration = _decimal(draw, -6, -2)
    energy = _decimal(draw, -4, 1)
    stated: dict[str, object] = {"mode": "pulsed"}
    kind = draw.choice(
        ("duration and rate", "duration and period", "duty and rate", "duty and time")
    )
    if kind == "duration and rate":
        rate = min(rate, Fraction(int(1 / duration)) or Fraction(1))
        duty = duration * rate
    elif kind == "duration and period":
        period = max(_decimal(draw, -4, 0), duration)
        rate, duty = 1 / period, duration / period
        stated["pulse_period"] = _text(draw, period, "s")
    elif kind == "duty and rate":
        duration = duty / rate
    else:
        rate = duty / duration
    if "duration" in kind or "time" in kind:
        stated["pulse_duration"] = _text(draw, duration, "s")
    if "rate" in kind:
        stated["repetition_rate"] = _text(draw, rate, "Hz")
    if "duty" in kind:
        stated["duty_cycle"] = draw.choice((str(float(duty)), f"{float(duty * 100)} %"))
    which = draw.choice(("energy", "average", "peak", "panel average", "panel peak"))
    if which == "energy":
        stated["pulse_energy"] = _text(draw, energy, "J")
    else:
        power = _decimal(draw, -1, 2)
        energy = power / rate if "average" in which else power * duration
        if which.startswith("panel"):
            stated |= {"power": _text(draw, power, "W"), "power_kind": which.split()[1]}
        else:
            stated[f"{which}_power"] = _text(draw, power, "W")
    return stated, {
        "average_power": energy * rate,
        "peak_power": energy / duration,
        "pulse_energy": energy,
        "pulse_duration": duration,
        "repetition_rate": rate,
        "pulse_period": 1 / rate,
        "duty_cycle": duty,
        "off_time": 1 / rate - duration,
    }


def _on_tissue(values: dict[str, Fraction], diameter: Fraction, speed: Fraction) -> dict:
    """Return what falls on a spot and its track, and the depths, in the units of the contract."""
    area_cm2 = PI * diameter * diameter / 4 * 10**4
    radius = diameter / 2
    fluence = values["pulse_energy"] / area_cm2
    results = {
        "spot_diameter": diameter * 1000,
        "irradiance_mean": values["average_power"] / area_cm2,
        "irradiance_peak": 2 * values["average_power"] / area_cm2,
        "pulse_irradiance_mean": values["peak_power"] / area_cm2,
        "pulse_irradiance_peak": 2 * values["peak_power"] / area_cm2,
        "fluence_mean": fluence,
        "fluence_peak": 2 * fluence,
        "dwell_time": diameter / speed,
        "pulses_per_spot": values["repetition_rate"] * diameter / speed,
        "overlap": 1 - speed / (values["repetition_rate"] * diameter),
        "line_energy": values["average_power"] / speed / 1000,
        "track_fluence_mean": 4 * values["average_power"] / (PI * diameter * speed) / 10**4,
        "track_fluence_peak": _root(2 / PI) * values["average_power"] / (radius * speed) / 10**4,
        "absorption_coefficient": Fraction(7, 10) * WATER_PER_M / 100,
        "absorption_depth": 10**6 / (Fraction(7, 10) * WATER_PER_M),
        "cut_depth": tuple(
            values["average_power"] / (heat * diameter * speed) * 1000
            for heat in (Fraction(48, 10) * 10**9, 4 * 10**9)
        ),
    }
    kappa = Fraction(1, 2) / (1060 * 3600)
    results["thermal_relaxation_time"] = (results["absorption_depth"] / 10**6) ** 2 / (4 * kappa)
    threshold = Fraction("1.15")
    if fluence > threshold and values["pulse_duration"] < Fraction(1, 2000):
        steady = (fluence - threshold) / (Fraction("1.06") * 3740) * 10**4
        blow_off = _logarithm(fluence / threshold) * results["absorption_depth"]
        results["pulse_depth"] = tuple(sorted((steady, blow_off)))
    return results


def _transmission(draw: random.Random, delivery: dict[str, object]) -> Fraction:
    mirrors, reflectance = draw.randint(0, 12), Fraction(draw.randint(950, 1000), 1000)
    lens, loss = Fraction(draw.randint(80, 100), 100), Fraction(draw.randint(0, 40), 10)
    delivery["mirror_count"] = mirrors
    delivery["mirror_reflectance"] = str(float(reflectance))
    delivery["lens_transmittance"] = f"{float(lens * 100)} %"
    delivery["loss"] = f"{float(loss)} dB"
    return reflectance**mirrors * lens * _tenth_power(-loss / 10)


def _near(found: float, expected: Fraction) -> bool:
    return abs(Fraction(found) - expected) <= TOLERANCE * abs(expected)


def _check(side: dict, expected: dict[str, Fraction | tuple[Fraction, ...]]) -> list[str]:
    wrong = []
    for name, value in expected.items():
        pairs = (
            [("low", value[0]), ("high", value[1])]
            if isinstance(value, tuple)
            else [("value", value)]
        )
        for size, number in pairs:
            # 1 - x loses digits where x is near 1: its error is that of x.
            slack = TOLERANCE if name == "overlap" else 0
            if not (
                _near(side[name][size], number) or abs(Fraction(side[name][size]) - number) < slack
            ):
                wrong.append(f"{name}.{size}: {side[name][size]} instead of {float(number)}")
    return wrong


def _run(count: int) -> None:
    draw = random.Random(SEED)
    with_depth = 0
    for _ in range(count):
        emission, train = _train(draw)
        diameter, speed = _decimal(draw, -4, -2.5), _decimal(draw, -3.5, -1.5)
        seconds = _decimal(draw, -1, 2)
        request = {
            "wavelength": "10.6 um",
            "emission": emission,
            "spot": {"diameter": _text(draw, diameter, "m"), "diameter_definition": "1/e2"},
            "motion": {"speed": _text(draw, speed, "m/s")},
            "emission_time": _text(draw, seconds, "s"),
            "tissue": {"kind": "oral mucosa"},
            "delivery": {},
        }
        fraction = _transmission(draw, request["delivery"])
        if draw.random() < 0.5:
            fraction = Fraction(draw.randint(400, 1050), 1000)
            request["delivery"]["verified_ratio"] = str(float(fraction))
        dose = respond(request)["dose"]
        arriving = {
            name: value * fraction if name.endswith(("power", "energy")) else value
            for name, value in train.items()
        }
        for side, values in (("set", train), ("delivered", arriving)):
            expected = values | _on_tissue(values, diameter, speed)
            expected["total_energy"] = values["average_power"] * seconds
            if values["off_time"] < TOLERANCE * values["pulse_period"]:
                del expected["off_time"]  # a duty cycle of 1: nothing but rounding is left
            with_depth += "pulse_depth" in expected
            assert _check(dose[side], expected) == [], f"seed {SEED}: {request}"
        assert _near(dose["delivered"]["delivered_fraction"]["value"], fraction)
    assert with_depth > count / 20


def test_the_comparison_sees_a_wrong_value() -> None:
    side = {"average_power": {"value": 4.00000001}, "cut_depth": {"low": 1.0, "high": 1.2}}
    expected = {"average_power": Fraction(4), "cut_depth": (Fraction(1), Fraction(6, 5))}
    assert len(_check(side, expected)) == 1


def test_random_panels_give_what_fractions_give() -> None:
    _run(5_000)


@pytest.mark.long
def test_a_hundred_thousand_random_panels_give_what_fractions_give() -> None:
    _run(100_000)
