"""The program's own processes, forked off one that has imported it already.

Importing the program costs a second and a half of the processor, and each file of stories starts a
server and its work: in the check that was more than a minute. What runs in them is what `dosebook
serve` and `dosebook work` run, gunicorn with the program's own settings and the command itself.
Their own start, as processes from nothing, is what `tests/faults` and the long tests ask for.
"""

import importlib
import multiprocessing
import os
import sys
from multiprocessing.context import ForkServerProcess
from pathlib import Path

Running = ForkServerProcess
ROOT = Path(__file__).resolve().parents[2]
ENDS_WITHIN_S = 120
# What each command runs, and what is imported before it is forked.
PROGRAMS = {
    "dosebook": "api.cli:main",
    "dosebook in haste": "tests.story.hasty:main",
    "gunicorn": "gunicorn.app.wsgiapp:run",
}
_server = multiprocessing.get_context("forkserver")
_server.set_forkserver_preload([__name__, "api.app", "api.commands.serve", "api.work.runner"])


def start(command: list, environment: dict[str, str], said: Path | None = None) -> Running:
    """Start a command of ``PROGRAMS`` with an environment of its own; it says into a file."""
    # Threads of a solver would not be there in what is forked.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    running = _server.Process(
        name=" ".join(map(str, command[:2])),
        target=_become,
        args=([str(one) for one in command], environment, said),
        daemon=True,
    )
    running.start()
    return running


def run(command: list, environment: dict[str, str], said: Path) -> None:
    """Run a command of ``PROGRAMS`` to its end, which has to be a good one."""
    running = start(command, environment, said)
    running.join()
    assert running.exitcode == 0, said.read_text(encoding="utf-8")
    running.close()


def stop(running: list[Running]) -> None:
    """End them as whoever looks after a server does, and wait until they have ended.

    One that had ended by itself by then, without being asked to, is a find of its own.
    """
    by_itself = [process.name for process in running if process.exitcode is not None]
    for process in running:
        process.terminate()
    for process in running:
        process.join(ENDS_WITHIN_S)
        assert process.exitcode is not None, f"{process.name} does not end"
        process.close()
    assert by_itself == [], "ended before it was asked to"


def _become(command: list[str], environment: dict[str, str], said: Path | None) -> None:
    os.environ.clear()
    os.environ.update(environment)
    os.chdir(ROOT)
    out = os.open(said or os.devnull, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o644)
    os.dup2(out, 2)
    sys.argv = command
    module, name = PROGRAMS[command[0]].split(":")
    sys.exit(getattr(importlib.import_module(module), name)())
