"""Read a quantity: the number by us, the unit by pint.

pint alone would read "1,5 W" as 15 W and work out arithmetic, so it never sees the number. Its
exact decimal factors keep the value free of rounding until the one conversion to a float.
"""

import re
from collections.abc import Mapping
from decimal import Context, Decimal, DecimalException
from functools import cache, lru_cache
from math import isfinite

import pint

from api.dose.constants import table

MAXIMUM_LENGTH = 40
_NUMBER = r"[+-]?[0-9]+(?:\.[0-9]+)?(?:[eE][+-]?[0-9]+)?"
_TEXT = re.compile(rf"({_NUMBER}) *([^0-9 .+\-].*)?")
_WORD = r"[A-Za-z\u00b5\u03bc%]+(?:\^?-?[1-9])?"
_UNIT = re.compile(rf"{_WORD}(?: ?[*/ ] ?{_WORD})*")
# "cm2", as UCUM and our own answers write it; pint wants "cm^2".
_POWER = re.compile(r"(?<=[A-Za-z\u00b5\u03bc])(-?[1-9])")
# More digits than a number of 40 characters and a factor have together.
_EXACT = Context(prec=80)


class NotAQuantity(ValueError):
    """What was given is no quantity of the wanted dimension; the text says why."""


@cache
def _registry() -> pint.UnitRegistry:
    return pint.UnitRegistry(non_int_type=Decimal)


@lru_cache(maxsize=512)
def _factor(unit: str, dimension: str) -> Decimal | None:
    """Return how many SI units one ``unit`` is, or None if it is not of the dimension.

    Angles count as no unit in pint, so that "rpm" would pass as a frequency that is 2 pi too
    large: a unit that holds an angle is refused, unless an angle and nothing else is wanted.
    """
    if dimension == "1":
        return {"": Decimal(1), "1": Decimal(1), "%": Decimal("0.01")}.get(unit)
    if dimension == "dB":
        return Decimal(1) if unit == "dB" else None
    if not _UNIT.fullmatch(unit):
        return None
    registry = _registry()
    try:
        parsed = registry.parse_units(_POWER.sub(r"^\1", unit))
        root = dict(registry.get_root_units(parsed)[1]._units)
        if (root != {"radian": 1}) if dimension == "rad" else ("radian" in root):
            return None
        one = registry.Quantity(Decimal(1), parsed).to(dimension).magnitude
        two = registry.Quantity(Decimal(2), parsed).to(dimension).magnitude
    except Exception:  # pint raises a dozen unrelated types on odd unit text; all mean "unknown"
        return None
    # A level such as dBm has no factor: twice the number is not twice the power.
    return one if two == 2 * one else None


def wanted(dimension: str) -> str:
    """Return the words for a quantity of this dimension, with an example."""
    return f"must be {table()['dimensions'][dimension]}"


def _number_text(number: object, dimension: str) -> str:
    if isinstance(number, bool) or not isinstance(number, int | float):
        raise NotAQuantity(wanted(dimension))
    if isinstance(number, float) and not isfinite(number):
        raise NotAQuantity("must be a finite number")
    return repr(number)


def _split(given: object, dimension: str) -> tuple[str, str]:
    """Return number text and unit text of the two forms a quantity may have."""
    if isinstance(given, dict):
        unit = given.get("unit")
        if set(given) != {"value", "unit"} or not isinstance(unit, str):
            raise NotAQuantity(wanted(dimension))
        if len(unit) > MAXIMUM_LENGTH:
            raise NotAQuantity(f"must be at most {MAXIMUM_LENGTH} characters")
        return _number_text(given["value"], dimension), unit
    if isinstance(given, str):
        if len(given) > MAXIMUM_LENGTH:
            raise NotAQuantity(f"must be at most {MAXIMUM_LENGTH} characters")
        match = _TEXT.fullmatch(given)
        if match is None:
            raise NotAQuantity(wanted(dimension))
        return match[1], match[2] or ""
    if dimension == "1":
        return _number_text(given, dimension), ""
    raise NotAQuantity(wanted(dimension))


def to_si(given: object, dimension: str) -> float:
    """Return a quantity in SI units.

    ``given`` is a text such as "4.5 W", a dict of value and unit, or, for a pure number
    (``dimension`` "1"), a number. ``dimension`` is one of ``dimensions`` in
    ``constants.json``: an SI unit, 1, or dB.
    Raises NotAQuantity with words for the person who typed it.
    """
    number, unit = _split(given, dimension)
    factor = _factor(unit, dimension)
    if factor is None:
        raise NotAQuantity(wanted(dimension))
    try:
        value = float(_EXACT.multiply(Decimal(number), factor))
    except (DecimalException, OverflowError, ValueError):
        raise NotAQuantity("must be a finite number") from None
    if not isfinite(value):
        raise NotAQuantity("must be a finite number")
    return value


def to_si_between(given: object, limits: Mapping[str, object]) -> float:
    """Return a quantity in SI units, inside a range of ``constants.json``."""
    value = to_si(given, limits["dimension"])
    # 1e-9: 1e3 nm and 1 um are the same length, also where their floats differ.
    if not limits["least"] * (1 - 1e-9) <= value <= limits["most"] * (1 + 1e-9):
        raise NotAQuantity(f"must be from {limits['text']}")
    return value


def uncertainty_within(given: object, field: str) -> tuple[bool, float]:
    """Return whether a standard uncertainty is relative, and its number.

    A pure number such as 0.02 or "2 %" is relative, also for a field that is a pure number; a
    quantity of the field's dimension is absolute, in SI units.
    """
    limits = table()["quantities"][field]
    try:
        number, relative = to_si(given, "1"), True
    except NotAQuantity:
        try:
            number, relative = to_si(given, limits["dimension"]), False
        except NotAQuantity as problem:
            raise NotAQuantity(f"{problem}, or a pure number: relative") from None
    if not 0 <= number <= (1 if relative else limits["most"]):
        raise NotAQuantity("must be from 0 to the largest value of the field, or to 1 if relative")
    return relative, number
