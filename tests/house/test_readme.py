"""Every command in README.md is run here, and must print what the README says it prints.

In a block marked `console`, a line that begins with `$ ` is a command, `> ` continues it, and what
follows, up to the next command, is its output. The two commands of the set-up are run by
test_start.py and by the check itself; here it is only seen that they are named.
"""

import re
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
README = (ROOT / "README.md").read_text()
SET_UP = ("bash deploy/start", "bash deploy/check")
# What works on a practice's data is run on a test's, by tests/backup/test_commands.py.
ON_DATA = "DOSEBOOK_DATA=.data .venv/bin/dosebook "
RUN_ELSEWHERE = (*SET_UP, ON_DATA)


def console_commands() -> list[tuple[str, str]]:
    found = []
    for block in re.findall(r"^```console\n(.*?)^```", README, flags=re.M | re.S):
        for part in re.split(r"^\$ ", block, flags=re.M)[1:]:
            lines = part.splitlines()
            # "> " continues a command, as a shell shows it.
            last = 1
            while last < len(lines) and lines[last].startswith("> "):
                last += 1
            command = "\n".join([lines[0], *(line[2:] for line in lines[1:last])])
            found.append((command, "\n".join(lines[last:]).strip()))
    return found


def test_both_commands_of_the_set_up_are_named():
    named = [command.strip() for command, _ in console_commands()]
    assert set(SET_UP) <= set(named)


@pytest.mark.parametrize(
    ("command", "printed"),
    [(c, p) for c, p in console_commands() if not c.startswith(RUN_ELSEWHERE)],
)
def test_a_command_prints_what_the_readme_says(command, printed):
    done = subprocess.run(
        ["bash", "-c", command], cwd=ROOT, capture_output=True, text=True, timeout=120
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout.strip() == printed


def test_every_picture_and_link_is_there():
    for target in re.findall(r"\]\(([^)#]+)\)", README):
        if "://" not in target:
            assert (ROOT / target).exists(), target
