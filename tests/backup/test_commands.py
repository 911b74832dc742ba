"""The commands as README.md gives them, on a test's data: what they print, and how they end."""

import io
import re
import shlex
import sys
from pathlib import Path

import pytest

from api import cli
from tests.house.test_readme import ON_DATA, console_commands

GIVEN = Path("/media/backups")


@pytest.fixture
def command(settings, monkeypatch, capsys):
    """Return a function: a command line -> (exit code, standard output, standard error)."""
    monkeypatch.setenv("DOSEBOOK_DATA", str(settings.data_dir))
    for name in ("DATABASE_URL", "DOSEBOOK_BACKUPS"):
        monkeypatch.delenv(name, raising=False)

    def run(*arguments: str, typed: str = "") -> tuple[int, str, str]:
        monkeypatch.setattr(sys, "stdin", io.StringIO(typed))
        try:
            code = cli.main(list(arguments))
        except SystemExit as stopped:
            code = stopped.code
        return code, *capsys.readouterr()

    return run


def alike(text: str, *folders: Path) -> str:
    """A text without what differs from one run to the next: folders, times, names, counts."""
    for folder in folders:
        text = text.replace(str(folder), "FOLDER")
    text = re.sub(r"\d{8}T\d{6}Z(-[0-9a-f]{4})?|\d{4}-\d\d-\d\dT[\d:.+]+", "TIME", text)
    text = re.sub(r"[0-9a-f]{8}-[0-9a-f-]{27}", "LOCATION", text)
    return re.sub(r"\b\d+ entries|entry \d+", "N entries", text).strip()


def test_the_readmes_commands_do_what_it_says(command, practice, settings, tmp_path):
    code, key, _ = command("recovery-key", "new")
    assert code == 0
    words = " ".join(key.split("\n\n")[1].split())
    assert command("recovery-key", "new", "--if-none")[:2] == (0, "")
    assert command("recovery-key", "check", typed=words + "\n\n")[0] == 0
    assert command("recovery-key", "check", typed="acorn adobe\n\n")[0] == 2
    practice.house.engine.dispose()
    folder, made = tmp_path / "backups", None
    given = [(c, printed) for c, printed in console_commands() if c.startswith(ON_DATA)]
    assert [shlex.split(c)[2] for c, _ in given] == ["backup", "backup-check", "restore"]
    for line, printed in given:
        arguments = []
        for word in shlex.split(line)[2:]:
            if Path(word).parent == GIVEN:
                word = str(made)
            arguments.append(str(folder) if word == str(GIVEN) else word)
        code, out, err = command(*arguments)
        assert code == 0, err
        made = next(each for each in folder.iterdir() if each.name.startswith("dosebook-"))
        places = (folder, settings.data_dir, GIVEN, Path("/srv/dosebook"))
        assert alike(out, *places) == alike(printed, *places)


def test_what_was_not_said_is_asked_for(command, practice):
    assert command("restore", "somewhere", "--who", "me")[0] == 2
    said = ("restore", "--from-group", "https://group.example", "--who", "me", "--why", "fire")
    code, out, err = command(*said)
    assert (code, out) == (2, "")
    assert "--code" in err
    code, out, err = command(*said, "--code", "ABCDE-FGHJK")
    assert (code, out) == (2, "")
    assert "26 signs" in err
    assert command(*said, "--code", "x", "somewhere")[0] == 2
    plain = ("restore", "--from-group", "http://group.example", *said[3:], "--code", "x")
    assert "https only" in command(*plain)[2]
    code, out, err = command("backup")
    assert (code, out) == (1, "")
    assert "recovery-key new" in err
