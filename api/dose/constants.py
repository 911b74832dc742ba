"""The numbers of the engine, read from the one file where they stand with unit and source."""

import json
from functools import cache
from importlib.resources import files


@cache
def table() -> dict:
    """Return everything in ``constants.json``; callers must not change it."""
    return json.loads(files("api.dose").joinpath("constants.json").read_text(encoding="utf-8"))


@cache
def number(name: str) -> float:
    """Return one named constant in the unit that the file states."""
    return float(table()["numbers"][name]["value"])


ENGINE_VERSION = "1.0.0"
