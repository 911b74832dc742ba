"""The house itself: where things stand and who may import whom."""

import ast
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]


def test_imports_go_downward_only():
    done = subprocess.run(
        [Path(sys.executable).with_name("lint-imports"), "--no-cache"],
        cwd=ROOT,
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, done.stdout


def test_an_import_that_goes_upward_is_refused(tmp_path):
    """Known-bad stub: the same contracts over a copy in which storage imports web."""
    import shutil

    shutil.copytree(ROOT / "api", tmp_path / "api", ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copy(ROOT / "pyproject.toml", tmp_path / "pyproject.toml")
    (tmp_path / "api" / "storage" / "upward.py").write_text("import api.web\n")
    done = subprocess.run(
        [sys.executable, "-c", "from importlinter.cli import lint_imports_command as c; c()"],
        cwd=tmp_path,
        env={"PYTHONPATH": str(tmp_path), "PATH": ""},
        capture_output=True,
        text=True,
    )
    assert done.returncode == 1, done.stdout + done.stderr
    assert "api.storage.upward" in done.stdout


def test_every_package_marker_is_empty():
    markers = list((ROOT / "api").rglob("__init__.py")) + list(
        (ROOT / "tests").rglob("__init__.py")
    )
    assert len(markers) > 20
    assert [str(path) for path in markers if path.read_bytes()] == []


def test_the_top_level_holds_what_it_should():
    listed = subprocess.run(
        ["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=True
    ).stdout.split()
    top = {path.split("/")[0] for path in listed}
    visible = {name for name in top if not name.startswith(".")}
    assert visible <= {
        "README.md",
        "DEVELOPERS.md",
        "pyproject.toml",
        "api",
        "pwa",
        "tests",
        "deploy",
        "demo_fixtures",
    }


def test_no_lock_file_names_an_index():
    for path in ROOT.glob("deploy/requirements*.txt"):
        assert "://" not in path.read_text(), path
    assert '"resolved"' not in (ROOT / "pwa" / "package-lock.json").read_text()


def test_no_module_looks_up_the_time_for_itself():
    """Time is passed in; only the clock itself asks the machine."""
    asked = []
    for path in (ROOT / "api").rglob("*.py"):
        if path.name == "clock.py":
            continue
        for node in ast.walk(ast.parse(path.read_text())):
            if isinstance(node, ast.Attribute) and node.attr in ("now", "utcnow", "today"):
                owner = ast.unparse(node.value)
                if owner in ("datetime", "datetime.datetime", "date", "time"):
                    asked.append(f"{path.relative_to(ROOT)}:{node.lineno}")
    assert asked == []
