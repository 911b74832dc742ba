"""Which stories are played a second time, by pytest itself on stories made up here."""

import shutil
import subprocess
import sys
from pathlib import Path

import pytest

STORIES = """
from pathlib import Path

import pytest

LATE = "Locator expected to be visible\\nActual value: None"


@pytest.fixture(scope="module")
def server():
    served = Path("served")
    served.write_text(served.read_text() + "x" if served.exists() else "x")
    return len(served.read_text())


def fail_once(name, message):
    if not Path(name).exists():
        Path(name).touch()
        raise AssertionError(message)


def test_late_once(server):
    fail_once("late", LATE)
    # Played again with a server of its own.
    assert server == 2


def test_late_twice():
    raise AssertionError(LATE)


def test_an_entry_is_lost():
    fail_once("lost", "1 == 2")


@pytest.mark.once
def test_where_it_is_a_find():
    fail_once("find", LATE)


def test_two_tablets(two_tablets):
    fail_once("tablets", LATE)


@pytest.fixture
def two_tablets():
    return None
"""


@pytest.fixture
def play(tmp_path):
    """Return a function that plays the stories, with more in their file, and what pytest told."""
    stories = tmp_path / "tests" / "story"
    stories.mkdir(parents=True)
    for package in (stories, stories.parent):
        (package / "__init__.py").touch()
    shutil.copy(Path(__file__).parents[1] / "replay.py", stories.parent)
    (stories.parent / "conftest.py").write_text(
        "from tests.replay import pytest_runtest_protocol, pytest_terminal_summary\n"
    )

    def played(more: str = "") -> str:
        (stories / "test_some.py").write_text(STORIES + more)
        command = [sys.executable, "-m", "pytest", "-rA", "-p", "no:cacheprovider", "tests"]
        return subprocess.run(command, cwd=tmp_path, capture_output=True, text=True).stdout

    return played


def test_a_story_is_played_again_only_where_it_waited_in_vain(play):
    told = play()
    assert "PASSED tests/story/test_some.py::test_late_once" in told
    never = ("test_an_entry_is_lost", "test_where_it_is_a_find", "test_two_tablets")
    for name in ("test_late_twice", *never):
        assert f"FAILED tests/story/test_some.py::{name}" in told
    for name, ended in (("test_late_once", "passed"), ("test_late_twice", "failed")):
        assert f"played twice: tests/story/test_some.py::{name}, {ended}" in told
    assert told.count("played twice: ") == 2
    assert told.count("Locator expected to be visible Actual value: None") == 2


def test_where_a_wait_in_vain_is_a_find_nothing_is_played_again(play):
    told = play("pytestmark = pytest.mark.once\n")
    assert told.count("FAILED tests/story/test_some.py::") == 5
    assert "played twice" not in told
