"""What a run of mutants says: the score of a module, and which survivors are explained."""

import json
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

ENOUGH = 0.9
EXPLAINED = Path(__file__).with_name("explained.json")


@dataclass(frozen=True)
class Mutant:
    """A mutant by mutmut's name, whether a test saw it, and the lines it took and put."""

    name: str
    seen: bool
    before: str
    after: str

    @property
    def function(self) -> str:
        """The function it is in, as ``emission.shape_factor`` or ``heat_model.Heat.step``."""
        found = re.fullmatch(r"api\.dose\.(.*?)\.?xǁ(.*)ǁ(.*)__mutmut_\d+", self.name)
        if found is not None:
            return ".".join(found.groups())
        return re.sub(r"^api\.dose\.(.*)\.x_(.*)__mutmut_\d+$", r"\1.\2", self.name)


@dataclass(frozen=True)
class Score:
    """The mutants of a module: how many, how many were seen, which survived."""

    module: str
    total: int
    seen: int
    explained: int
    unexplained: tuple[Mutant, ...]

    @property
    def value(self) -> float:
        """The part that was seen of those that could be; 1 for a module without mutants."""
        could_be = self.total - self.explained
        return self.seen / could_be if could_be else 1.0


def change_of(shown: str) -> tuple[str, str]:
    """Return the lines that a diff takes and puts, without what surrounds them."""
    lines = [one for one in shown.splitlines() if not one.startswith(("---", "+++", "#", "@@"))]
    before = " ".join(one[1:].strip() for one in lines if one.startswith("-"))
    after = " ".join(one[1:].strip() for one in lines if one.startswith("+"))
    return before, after


def explained() -> list[Mapping[str, str]]:
    """Return the survivors that no test can see: function, lines taken and put, and why."""
    return json.loads(EXPLAINED.read_text(encoding="utf-8"))["mutants"]


def score(module: str, mutants: Iterable[Mutant], reasons: list[Mapping[str, str]]) -> Score:
    """Return the score of a module; a survivor counts as explained by function and lines."""
    known = {(one["function"], one["before"], one["after"]) for one in reasons}
    everyone = list(mutants)
    survivors = [one for one in everyone if not one.seen]
    open_ones = [s for s in survivors if (s.function, s.before, s.after) not in known]
    return Score(
        module=module,
        total=len(everyone),
        seen=len(everyone) - len(survivors),
        explained=len(survivors) - len(open_ones),
        unexplained=tuple(open_ones),
    )


def is_enough(found: Score) -> bool:
    """Return whether at least 90 % of a module's mutants were seen."""
    return found.value >= ENOUGH


def line(found: Score) -> str:
    """Return a score as a line of JSON."""
    return json.dumps({
        "module": found.module, "score": round(found.value, 4), "mutants": found.total,
        "seen": found.seen, "explained": found.explained,
    })  # fmt: skip
