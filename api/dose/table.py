"""A dose answer as lines of text: set and delivered side by side, as the screens show them."""

from typing import Any

from api.dose.constants import table
from api.dose.display import format_value

NAME_WIDTH, VALUE_WIDTH = 26, 16


def as_lines(answer: dict[str, Any]) -> list[str]:
    """Return the lines that show ``evaluate.respond``'s answer to a person.

    One line for each result that exists, in the contract's order; then what contradicts itself
    and what is to be borne in mind. Results that are absent are left out: the JSON answer carries
    their reasons.
    """
    set_dose, delivered = answer["dose"]["set"], answer["dose"]["delivered"]
    heads = ["set"]
    if delivered:
        checked = delivered.get("verified_at")
        heads.append(delivered["basis"] + (f" {checked[:10]}" if checked else ""))
    lines = [_row("", heads)]
    for name in table()["results"]:
        sides = [set_dose, delivered] if delivered else [set_dose]
        values = [_value(name, side) for side in sides]
        if any(values):
            lines.append(_row(name.replace("_", " "), values))
    lines += [f"contradiction: {one['text']}" for one in answer["contradictions"]]
    lines += [f"note: {one['text']}" for one in answer["warnings"]]
    return lines


def _value(name: str, side: dict[str, Any]) -> str:
    """Return a value, a band by its two ends, or nothing."""
    result = side.get(name, {})
    ends = [result[end] for end in ("value", "low", "high") if end in result]
    return " to ".join(format_value(name, end) for end in ends)


def _row(name: str, values: list[str]) -> str:
    cells = (one.ljust(max(VALUE_WIDTH, len(one) + 2)) for one in values)
    return (name.ljust(NAME_WIDTH) + "".join(cells)).rstrip()
