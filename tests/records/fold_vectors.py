"""The shared fold vectors, written out into the events that the fold takes."""

import json
import math
from pathlib import Path

VECTORS = json.loads(
    (Path(__file__).resolve().parent.parent / "vectors" / "fold.json").read_text("utf-8")
)
CASES = VECTORS["cases"]


def event(name: str) -> dict:
    """Return one event of the vectors by its name."""
    short = VECTORS["events"][name]
    body = {
        **VECTORS["defaults"],
        "event_id": short["id"],
        "tablet_id": short["tablet"],
        "tablet_seq": short["seq"],
        "actor_id": short["by"],
        "type": short["type"],
        "corrects": short.get("corrects"),
        "occurred_at": short["at"],
    }
    return {"body": body, "payload": short["payload"], "body_hash": short["id"][1:] * 32}


def events(case: dict) -> list[dict]:
    """Return the events of a case."""
    return [event(name) for name in case["of"]]


def at(document, path: str):
    """Return what stands at a dotted path, None where nothing does."""
    for step in path.split("."):
        if isinstance(document, list):
            document = document[int(step)] if int(step) < len(document) else None
        elif isinstance(document, dict):
            document = document.get(step)
        else:
            return None
    return document


def alike(found, wanted) -> bool:
    """Compare exactly, but numbers to 1e-9 of themselves."""
    if isinstance(wanted, dict):
        return (
            isinstance(found, dict)
            and found.keys() == wanted.keys()
            and all(alike(found[key], wanted[key]) for key in wanted)
        )
    if isinstance(wanted, list):
        return (
            isinstance(found, list)
            and len(found) == len(wanted)
            and all(alike(*pair) for pair in zip(found, wanted, strict=True))
        )
    if isinstance(wanted, (int, float)) and not isinstance(wanted, bool):
        number = isinstance(found, (int, float)) and not isinstance(found, bool)
        return number and math.isclose(found, wanted, rel_tol=1e-9)
    return type(found) is type(wanted) and found == wanted
