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
    """A mutant by mutmut's name, whether a test saw it (or its time), and the lines changed."""

    name: str
    seen: bool
    before: str
    after: str
    by_time: bool = False

    @property
    def function(self) -> str:
        """The function it is in, as ``emission.shape_factor`` or ``heat_model.Heat.step``."""
        found = re.fullmatch(r"api\.dose\.(.*?)\.?xǁ(.*)ǁ(.*)__mutmut_\d+", self.name)
        if found is not None:
            return ".".join(found.groups())
        return re.sub(r"^api\.dose\.(.*)\.x_(.*)__mutmut_\d+$", r"\1.\2", self.name)


@dataclass(frozen=True)
class Score:
    """The mutants of a module: how many there are, ran and were seen, and which survived.

    ``stale`` are the reasons of survivors that are none any more.
    """

    module: str
    made: int
    total: int
    seen: int
    explained: int
    unexplained: tuple[Mutant, ...]
    by_time: int = 0
    stale: tuple[tuple[str, str, str], ...] = ()

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
    """Return the survivors that no test can see: function, lines taken and put, and why.

    In the file one reason stands for several of a kind, and one line for all that is put there.
    """
    reasons = json.loads(EXPLAINED.read_text(encoding="utf-8"))["reasons"]
    return [
        {**line, "after": after, "why": reason["why"]}
        for reason in reasons
        for line in reason["mutants"]
        for after in line["after"]
    ]


def score(
    module: str,
    mutants: Iterable[Mutant],
    reasons: list[Mapping[str, str]],
    *,
    made: int | None = None,
) -> Score:
    """Return the score of a module of whose ``made`` mutants these ran, or all where it is None.

    A survivor counts as explained by its function and lines. A reason whose mutant is not made any
    more, or is seen by now, is stale; only where all of them ran that can be told.
    """
    known = {
        (one["function"], one["before"], one["after"])
        for one in reasons
        if re.fullmatch(rf"{re.escape(module)}\.(\w+|[A-Z]\w*\.\w+)", one["function"])
    }
    everyone = list(mutants)
    survivors = [one for one in everyone if not one.seen]
    open_ones = [s for s in survivors if (s.function, s.before, s.after) not in known]
    all_ran = made is None or made == len(everyone)
    lives = {(one.function, one.before, one.after) for one in survivors}
    return Score(
        module=module,
        made=len(everyone) if made is None else made,
        total=len(everyone),
        seen=len(everyone) - len(survivors),
        explained=len(survivors) - len(open_ones),
        unexplained=tuple(open_ones),
        by_time=sum(one.by_time for one in everyone),
        stale=tuple(sorted(known - lives)) if all_ran else (),
    )


def is_enough(found: Score) -> bool:
    """Return whether at least 90 % of a module's mutants were seen."""
    return found.value >= ENOUGH


def whole(scores: Iterable[Score]) -> Score:
    """Return the score of several modules together."""
    each = list(scores)
    return Score(
        module="all of these",
        made=sum(one.made for one in each),
        total=sum(one.total for one in each),
        seen=sum(one.seen for one in each),
        explained=sum(one.explained for one in each),
        unexplained=tuple(survivor for one in each for survivor in one.unexplained),
        by_time=sum(one.by_time for one in each),
        stale=tuple(reason for one in each for reason in one.stale),
    )


def line(found: Score) -> str:
    """Return a score as a line of JSON, which says so where it is of a sample."""
    said: dict[str, object] = {
        "module": found.module, "score": round(found.value, 4), "mutants": found.made,
        "ran": found.total, "seen": found.seen, "by_time": found.by_time,
        "explained": found.explained,
    }  # fmt: skip
    return json.dumps(said | ({"sample": True} if found.total < found.made else {}))
