"""A measured figure as one line of JSON, and whether it is what is wanted."""

import json
import operator
import re
from collections.abc import Iterable
from dataclasses import asdict, dataclass, field

_RELATIONS = {">=": operator.ge, "<=": operator.le, ">": operator.gt, "<": operator.lt}


@dataclass(frozen=True, kw_only=True)
class Figure:
    """What was measured: ``unit`` is a UCUM code, ``want`` a relation and a number, as ``<0.2``.

    ``value`` is None where nothing could be measured; ``want`` is None where nothing is wanted,
    as of a calibration loop, whose time says how fast the machine was.
    """

    name: str
    value: float | None
    unit: str
    want: str | None = None
    detail: dict[str, object] = field(default_factory=dict)


def show(figures: Iterable[Figure]) -> None:
    """Print each figure as a line as soon as it is there."""
    for figure in figures:
        print(json.dumps(asdict(figure)), flush=True)


def kept(value: float | None, want: str | None) -> bool:
    """Return whether a value is what is wanted; one that is missing is not.

    Raises ``ValueError`` for a ``want`` that is no relation and number.
    """
    if want is None:
        return True
    found = re.fullmatch(r"(>=|<=|>|<)\s*(\S+)", want)
    if found is None:
        raise ValueError(f"{want!r} is no relation and number")
    return value is not None and _RELATIONS[found[1]](value, float(found[2]))
