"""Makes the mutants of some modules in a copy of the project and runs the fast tests on each."""

import json
import os
import random
import shutil
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from difflib import unified_diff
from fnmatch import fnmatch
from pathlib import Path

from mutmut.mutation.file_mutation import mutate_file_contents

from tests.mutants.judge import Mutant, change_of

# What the tests below read. They are the fast ones: neither a browser nor node, no Monte Carlo.
_COPIED = (
    "api", "tests/__init__.py", "tests/dose", "tests/mutants", "tests/vectors", "pyproject.toml",
)  # fmt: skip
_USUAL = (
    "test_vectors.py", "test_functions.py", "test_dimensions.py", "test_metamorphic.py",
    "test_optics.py", "test_limits.py", "test_physics.py", "test_refusals.py",
    "test_uncertainty.py", "test_table.py", "test_refused_requests.py", "test_reading_edges.py",
    "test_display.py", "test_spot_edges.py", "test_tissue_edges.py", "test_said_beside.py",
    "test_sides.py", "test_reading.py",
)  # fmt: skip


@dataclass(frozen=True)
class Group:
    """Modules that the same tests hold, by patterns; the first group that fits has a module."""

    patterns: tuple[str, ...]
    tests: tuple[str, ...]

    def holds(self, module: str) -> bool:
        """Return whether a module belongs to this group rather than to an earlier one."""
        first = next(g for g in GROUPS if any(fnmatch(module, p) for p in g.patterns))
        return first is self


GROUPS = (
    Group(("hazard.*",), ("test_hazard.py", "test_hazard_limits.py", "test_hazard_requests.py",
                          "test_hazard_limit_edges.py", "test_hazard_eyewear.py",
                          "test_hazard_reading.py", "test_hazard_answers.py")),
    Group(("heat", "heat_*", "heating"), ("test_heat_train.py", "test_heat_model.py",
                                          "test_heat_plan.py", "test_heat_answers.py",
                                          "test_heat.py", "test_functions.py",
                                          "test_dimensions.py")),
    Group(("published",), ("test_published.py",)),
    Group(("*",), _USUAL),
)  # fmt: skip
# Its test reads the source of the formulas, which mutmut has rewritten by then.
_LEFT_OUT = ("provenance",)
# Left out: what takes long (many random inputs, other programs) and asks nothing else.
_CHOSEN = " and ".join(f"not {name}" for name in (
    "random_inputs", "the_tablet_reads", "random_panels_give", "takes_little",
    "simulation_gives_the_closed_form", "answered_coarsely", "any_strength", "propagated_field",
    "every_function_is_reached",
))  # fmt: skip
# Of a sample, so that a module is asked the same every time.
SEED = 20_261_128
# Threads would wait on one another in every fork.
_ONE_THREAD = {"OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1"}


def _file(module: str) -> str:
    return f"api/dose/{module.replace('.', '/')}.py"


def modules(root: Path) -> list[str]:
    """Return the modules of api/dose that are broken, as ``hazard.limits``."""
    folder = root / "api/dose"
    names = (path.relative_to(folder).with_suffix("") for path in sorted(folder.rglob("*.py")))
    found = [".".join(name.parts) for name in names if name.name != "__init__"]
    return [name for name in found if name not in _LEFT_OUT]


def mutate(
    root: Path, folder: Path, group: Group, chosen: list[str], *, at_once: int, sample: int | None
) -> Iterator[tuple[str, int, list[Mutant]]]:
    """Yield each module, how many mutants it has, and those that were run.

    Those are all, or at random as many of a module as ``sample`` says, the same ones each time as
    long as the module stays. ``folder`` is empty and one's own.
    Raises ``RuntimeError`` where the tests fail without any mutant.
    """
    for name in _COPIED:
        source, target = root / name, folder / name
        target.parent.mkdir(exist_ok=True)
        if source.is_dir():
            shutil.copytree(source, target, ignore=shutil.ignore_patterns("__pycache__"))
        else:
            shutil.copy(source, target)
    made = {name: _break(folder, name) for name in chosen}
    drawn = {name: of_sample(list(changes), sample) for name, changes in made.items()}
    asked, answer = folder / "asked.json", folder / "answer.json"
    asked.write_text(json.dumps({
        "mutants": [name for names in drawn.values() for name in names],
        "tests": [f"tests/dose/{name}" for name in group.tests],
        "chosen": _CHOSEN,
        "at_once": at_once,
    }))  # fmt: skip
    output = folder / "output.txt"
    with output.open("w", encoding="utf-8") as written:
        subprocess.run(
            [sys.executable, "-u", "-m", "tests.mutants.running", str(asked), str(answer)],
            cwd=folder, stdout=written, stderr=subprocess.STDOUT, env={**os.environ, **_ONE_THREAD},
            check=False,
        )  # fmt: skip
    said = json.loads(answer.read_text()) if answer.exists() else {"failed": [], "seen": {}}
    if said["failed"] or len(said["seen"]) != sum(map(len, drawn.values())):
        raise RuntimeError("\n".join([output.read_text(encoding="utf-8")[-2000:], *said["failed"]]))
    for name, changes in made.items():
        ran = [Mutant(key, said["seen"][key], *changes[key], by_time=key in said["by_time"])
               for key in drawn[name]]  # fmt: skip
        yield name, len(changes), ran


def of_sample(mutants: list[str], sample: int | None) -> list[str]:
    """Return a module's mutants, or as many of them as a sample has, in their order."""
    if sample is None or sample >= len(mutants):
        return mutants
    drawn = set(random.Random(SEED).sample(mutants, sample))
    return [name for name in mutants if name in drawn]


def _break(folder: Path, module: str) -> dict[str, tuple[str, str]]:
    """Put a module with all its mutants in the module's place; return what each changed."""
    path = folder / _file(module)
    code, changes = broken_text(module, path.read_text(encoding="utf-8"))
    path.write_text(code, encoding="utf-8")
    return changes


def broken_text(module: str, written_text: str) -> tuple[str, dict[str, tuple[str, str]]]:
    """Return a module with all its mutants in it, and what each of them changed."""
    broken = mutate_file_contents(_file(module), written_text)
    code = broken.code.replace("mutmut.mutation.trampoline", "tests.mutants.switch")
    lines = broken.code.splitlines()

    def text(name: str, written: str) -> list[str]:
        span = broken.line_span_by_function_name[name]
        return [line.replace(name, written) for line in lines[span.start - 1 : span.end]]

    found = {}
    for name in broken.mutant_names:
        plain = name.rpartition("__mutmut_")[0]
        # x_f of a function, xǁClassǁf of a method.
        written = plain.rpartition("ǁ")[2] if "ǁ" in plain else plain.removeprefix("x_")
        shown = unified_diff(text(f"{plain}__mutmut_orig", written), text(name, written), n=0)
        found[f"api.dose.{module}.{name}"] = change_of("\n".join(shown))
    return code, found
