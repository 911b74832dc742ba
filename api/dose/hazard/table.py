"""A hazard answer as lines of text, for people on the command line."""

from typing import Any

from api.dose.display import format_number
from api.dose.hazard.constants import table

NAME_WIDTH = 38


def as_lines(answer: dict[str, Any]) -> list[str]:
    """Return the lines that show ``evaluate.respond``'s answer to a person.

    One line for each result, then what is to be borne in mind. Results that are absent are left
    out: the JSON answer carries their reasons.
    """
    lines = []
    for name, result in answer["results"].items():
        value = result["value"]
        shown = format_number(value) if isinstance(value, int | float) else value
        unit = "" if result["unit"] == "1" else f" {result['unit'].replace('m2', 'm²')}"
        lines.append(f"{table()['results'][name]['label']:<{NAME_WIDTH}}{shown}{unit}")
    return [*lines, *(f"note: {one['text']}" for one in answer["warnings"])]
