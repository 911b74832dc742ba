"""Write a result for a person: three significant digits, a readable prefix, the unit.

Works on the decimal digits of the number, not on floats: Python and JavaScript round halves
differently, and both screens must print the same characters. A first rounding to 12 digits takes
away the last bits in which the two languages may differ.
"""

from api.dose.constants import table


def _digits(value: float) -> tuple[bool, str, int]:
    """Return whether below zero, the digits without zeros around, the first digit's exponent.

    Zero has no digits, and an exponent that means nothing.
    """
    text = repr(abs(float(value)))
    mantissa, _, power = text.partition("e")
    whole, _, fraction = mantissa.partition(".")
    digits = whole + fraction
    exponent = len(whole) - 1 + int(power or "0")
    stripped = digits.lstrip("0")
    exponent -= len(digits) - len(stripped)
    stripped = stripped.rstrip("0")
    return value < 0, stripped, exponent


def _rounded(digits: str, exponent: int, count: int) -> tuple[str, int]:
    """Return the digits rounded to ``count``, halves away from zero."""
    if len(digits) <= count:
        return digits, exponent
    kept = digits[:count]
    if digits[count] >= "5":
        raised = str(int(kept) + 1)
        exponent += len(raised) - count
        kept = raised
    return kept.rstrip("0"), exponent


def _plain(digits: str, exponent: int) -> str:
    """Return the digits as an ordinary decimal number."""
    if digits == "":
        return "0"
    if exponent < 0:
        return "0." + "0" * (-exponent - 1) + digits
    if len(digits) <= exponent + 1:
        return digits + "0" * (exponent + 1 - len(digits))
    return digits[: exponent + 1] + "." + digits[exponent + 1 :]


def format_number(value: float, *, digits: int | None = None) -> str:
    """Return a number with at most this many significant digits (three unless told)."""
    rules = table()["display"]
    negative, text, exponent = _digits(value)
    text, exponent = _rounded(text, exponent, rules["noise_digits"])
    text, exponent = _rounded(text, exponent, digits or rules["significant_digits"])
    return ("-" if negative else "") + _plain(text, exponent)


def format_value(name: str, value: float) -> str:
    """Return a result with its unit, as a person reads it.

    ``name`` is a result's name, ``value`` its number in the result's unit of the contract.
    159.154 as irradiance_mean gives "159 W/cm²", 0.0003 as pulse_duration "300 µs".
    Raises KeyError for a name that is no result.
    """
    rules = table()["display"]
    unit = table()["results"][name]["unit"]
    if name in rules["whole"]:
        return format_number(value, digits=rules["noise_digits"])
    scale = rules["scales"]["%" if name in rules["as_percent"] else unit]
    negative, digits, exponent = _digits(value)
    digits, exponent = _rounded(digits, exponent, rules["noise_digits"])
    digits, exponent = _rounded(digits, exponent, rules["significant_digits"])
    if digits == "":
        row = next(step for step in scale if step["shift"] in (0, 2))
    else:
        # The last row of a scale takes whatever is smaller than the others.
        row = next(step for step in scale if exponent >= step["from"])
    number = ("-" if negative else "") + _plain(digits, exponent + row["shift"])
    return f"{number} {row['label']}" if row["label"] else number
