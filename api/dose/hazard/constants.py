"""The numbers of the hazard engine, read from the file where they stand with unit and source."""

import json
from functools import cache
from importlib.resources import files


@cache
def table() -> dict:
    """Return everything in ``constants.json`` of this folder; callers must not change it."""
    text = files("api.dose.hazard").joinpath("constants.json").read_text(encoding="utf-8")
    return json.loads(text)


def number(name: str) -> float:
    """Return one named constant in the unit that the file states."""
    return float(table()["numbers"][name]["value"])
