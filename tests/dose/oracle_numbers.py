"""Exact numbers for the oracle: drawn as decimals, written in a unit, kept to 40 digits."""

import random
from decimal import Decimal, localcontext
from fractions import Fraction

DIGITS = 40
PI = Decimal("3.14159265358979323846264338327950288419716939937510582097494")
UNITS = {
    "W": (("W", 1), ("mW", 1000), ("kW", Fraction(1, 1000))),
    "J": (("J", 1), ("mJ", 1000), ("uJ", 10**6)),
    "s": (("s", 1), ("ms", 1000), ("us", 10**6)),
    "Hz": (("Hz", 1), ("kHz", Fraction(1, 1000))),
    "m": (("mm", 1000), ("um", 10**6), ("cm", 100)),
    "m/s": (("mm/s", 1000), ("cm/s", 100), ("m/s", 1)),
    "rad": (("rad", 1), ("mrad", 1000)),
}


def digits(value: Fraction) -> Decimal:
    """Return a fraction to 40 digits."""
    with localcontext(prec=DIGITS):
        return Decimal(value.numerator) / Decimal(value.denominator)


def drawn(draw: random.Random, low: float, high: float, places: int = 3) -> Fraction:
    """Return a number of few digits between two powers of ten."""
    return short(Fraction(10 ** draw.uniform(low, high)), places)


def short(value: Fraction, places: int = 2) -> Fraction:
    """Return a number of few digits near another."""
    return Fraction(f"{float(value):.{places}g}")


def share(draw: random.Random, most: int = 1000) -> Fraction:
    """Return some thousandths."""
    return Fraction(draw.randint(1, most), 1000)


def text(draw: random.Random, value: Fraction, unit: str) -> str:
    """Return an exact quantity in one of its units."""
    name, factor = draw.choice(UNITS[unit])
    number = digits(value * factor)
    assert Fraction(number) == value * factor
    return f"{number} {name}"


def pure(draw: random.Random, value: Fraction) -> str:
    """Return an exact number without unit, or in percent."""
    assert Fraction(digits(value)) == value
    return draw.choice((f"{digits(value)}", f"{digits(value * 100)} %"))


def tangent(angle: Decimal) -> Decimal:
    """Return the tangent of an angle of up to 1 rad, by the series of sine and cosine."""
    sine = cosine = Decimal(0)
    term, order = Decimal(1), 0
    while abs(term) > Decimal(10) ** -(DIGITS + 5):
        sign = -1 if order % 4 >= 2 else 1
        if order % 2:
            sine += sign * term
        else:
            cosine += sign * term
        order += 1
        term = term * angle / order
    return sine / cosine
