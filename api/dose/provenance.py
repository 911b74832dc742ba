"""How what a number rests on is known: each formula, each constant, each source.

Static tables, found by the name of the formula that a result carries, so that a dose request works
out nothing more for them.
"""

import re
from functools import cache
from importlib.resources import files

from api.dose.constants import table
from api.dose.hazard.constants import table as hazard_table

STATUSES = ("printed", "transcribed", "computed", "from memory", "practice")
_ENTRY = re.compile(
    r"^- `(?P<key>[a-z0-9]+)` \((?P<status>[a-z ]+)\): (?P<text>.*?)(?=^- `|\Z)",
    re.MULTILINE | re.DOTALL,
)


@cache
def bibliography() -> dict[str, dict[str, str]]:
    """Return {key: {"status", "text"}} of ``references.md``, each text on one line."""
    text = files("api.dose").joinpath("references.md").read_text(encoding="utf-8")
    return {
        entry["key"]: {"status": entry["status"], "text": " ".join(entry["text"].split())}
        for entry in _ENTRY.finditer(text)
    }


def formulas() -> dict[str, dict[str, object]]:
    """Return {dotted name: {"status", "valid", "constants"}} of both engines' formulas.

    ``valid`` holds codes of the conditions under which the formula holds, ``constants`` the names
    that ``constants`` has.
    """
    return {**table()["formulas"], **hazard_table()["formulas"]}


def constants() -> dict[str, dict[str, object]]:
    """Return every constant with what it means, its source and status; tables without values.

    The properties of a kind of tissue stand under "kind: property", in SI units.
    """
    kinds = {
        f"{kind}: {name}": entry
        for kind, properties in table()["tissues"].items()
        for name, entry in properties.items()
    }
    nodes = {name: entry for name, entry in table()["water_extinction"].items() if name != "ranges"}
    limits = {name: hazard_table()["limits"][name] for name in ("source", "status")}
    return {
        **table()["numbers"],
        **hazard_table()["numbers"],
        **kinds,
        "water_extinction": nodes,
        "limits": limits,
    }


def provenance() -> dict[str, object]:
    """Return all of it, as the interface answers it."""
    return {
        "statuses": list(STATUSES),
        "formulas": formulas(),
        "constants": constants(),
        "bibliography": bibliography(),
    }
