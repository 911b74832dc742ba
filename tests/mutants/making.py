"""Makes the mutants of some modules in a copy of the project and runs the fast tests on each."""

import json
import shutil
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from fnmatch import fnmatch
from pathlib import Path

from tests.mutants.judge import Mutant, change_of

# What the tests below read. They are the fast ones: neither a browser nor node, no Monte Carlo.
_COPIED = ("api", "tests/__init__.py", "tests/dose", "tests/vectors", "pyproject.toml")
_USUAL = (
    "test_vectors.py", "test_functions.py", "test_dimensions.py", "test_metamorphic.py",
    "test_optics.py", "test_limits.py", "test_physics.py", "test_refusals.py",
    "test_uncertainty.py", "test_table.py",
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
    Group(("hazard.*",), ("test_hazard.py", "test_functions.py", "test_dimensions.py")),
    Group(("heat", "heat_*", "heating"), ("test_heat.py", "test_functions.py",
                                           "test_dimensions.py")),
    Group(("published",), ("test_published.py",)),
    Group(("*",), _USUAL),
)  # fmt: skip
# Its test reads the source of the formulas, which mutmut has rewritten by then.
_LEFT_OUT = ("provenance",)
_SETTINGS = """
[tool.mutmut]
source_paths = ["api"]
only_mutate = {files}
pytest_add_cli_args = ["-p", "no:cacheprovider", "-k", "not random_inputs and not the_tablet_reads"]
pytest_add_cli_args_test_selection = {tests}
use_git_change_detection = false
track_dependencies = false
"""


def _file(module: str) -> str:
    return f"api/dose/{module.replace('.', '/')}.py"


def modules(root: Path) -> list[str]:
    """Return the modules of api/dose that are broken, as ``hazard.limits``."""
    folder = root / "api/dose"
    names = (path.relative_to(folder).with_suffix("") for path in sorted(folder.rglob("*.py")))
    found = [".".join(name.parts) for name in names if name.name != "__init__"]
    return [name for name in found if name not in _LEFT_OUT]


def mutate(
    root: Path, folder: Path, group: Group, chosen: list[str], at_once: int
) -> Iterator[tuple[str, list[Mutant]]]:
    """Yield each module with its mutants, all of them run; ``folder`` is empty and one's own.

    Raises ``RuntimeError`` where the tests fail without any mutant.
    """
    for name in _COPIED:
        source, target = root / name, folder / name
        target.parent.mkdir(exist_ok=True)
        if source.is_dir():
            shutil.copytree(source, target, ignore=shutil.ignore_patterns("__pycache__"))
        else:
            shutil.copy(source, target)
    tests = [f"tests/dose/{name}" for name in group.tests]
    settings = _SETTINGS.format(
        files=json.dumps([_file(name) for name in chosen]), tests=json.dumps(tests)
    )
    with (folder / "pyproject.toml").open("a", encoding="utf-8") as project:
        project.write(settings)
    run = subprocess.run(
        [_mutmut(), "run", "--max-children", str(at_once)],
        cwd=folder, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True,
    )  # fmt: skip
    if run.returncode != 0:
        raise RuntimeError(run.stdout[-2000:])
    for name in chosen:
        kept = folder / "mutants" / f"{_file(name)}.meta"
        codes = json.loads(kept.read_text())["exit_code_by_key"] if kept.exists() else {}
        yield name, [_mutant(folder, key, code) for key, code in codes.items()]


def _mutmut() -> str:
    return str(Path(sys.executable).with_name("mutmut"))


def _mutant(folder: Path, key: str, code: int | None) -> Mutant:
    """Return a mutant; what it changed is asked for where it survived."""
    # 33: no test reaches it.
    if code not in (0, 33, None):
        return Mutant(key, True, "", "")
    shown = subprocess.run(
        [_mutmut(), "show", key], cwd=folder, capture_output=True, text=True, check=True
    )
    return Mutant(key, False, *change_of(shown.stdout))
