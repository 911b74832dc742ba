"""The command `dosebook`; each group of its commands is a file of `api/commands`."""

import argparse
import os
import sys

from api.commands import (
    backup,
    database,
    demo,
    dose,
    erasures,
    group,
    log,
    replicate,
    serve,
    tablet,
    user,
)
from api.commands.common import BAD_USAGE, DOES_NOT_HOLD, DONE, say
from api.errors import BadInput, DomainError


def main(arguments: list[str] | None = None) -> int:
    """Run one command and return its exit code: 0 done, 1 does not hold, 2 bad usage or input."""
    options = _parser().parse_args(arguments)
    try:
        return options.run(options)
    except BadInput as problem:
        say(problem.message)
        return BAD_USAGE
    except DomainError as problem:
        say(problem.message)
        return DOES_NOT_HOLD
    except BrokenPipeError:
        # Whoever read our output has gone; Python must not complain once more at exit.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return DONE
    except KeyboardInterrupt:
        return DONE
    except Exception as problem:
        from api.storage.engine import DBAPIError

        if not isinstance(problem, DBAPIError):
            raise
        say("The database cannot be used. Has `dosebook db upgrade` run?")
        return DOES_NOT_HOLD


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="dosebook", description="Dose, record and safety log for dental CO2 laser surgery."
    )
    commands = parser.add_subparsers(required=True, metavar="COMMAND")
    for part in (
        serve,
        demo,
        database,
        dose,
        log,
        tablet,
        user,
        backup,
        erasures,
        replicate,
        group,
    ):
        part.add(commands)
    return parser
