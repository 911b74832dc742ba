"""Commands that compute: JSON on standard input, JSON or lines for people out."""

import argparse
import json
import sys
from collections.abc import Callable
from typing import Any

from api.commands.common import BAD_USAGE, DONE, command, print_json, say
from api.errors import DomainError


def add(commands) -> None:
    """Add these commands to ``commands``."""
    dose = command(commands, "dose", _dose, "evaluate a dose request: JSON in, JSON out")
    hazard = command(commands, "hazard", _hazard, "evaluate a hazard request: JSON in, JSON out")
    heat = command(commands, "heat", _heat, "simulate heat in tissue: JSON in, JSON out")
    for made in (dose, hazard, heat):
        made.add_argument("source", choices=["-"], help="- for standard input")
    for made in (dose, hazard):
        made.add_argument("--table", action="store_true", help="lines for people instead of JSON")


def _answered(respond: Callable[[Any], dict], show: Callable[[dict], None]) -> int:
    """Answer the request on standard input; a bad one is refused as the interface would."""
    from api.web.blueprint import read_json
    from api.web.problems import document

    try:
        answer = respond(read_json(sys.stdin.buffer.read()))
    except DomainError as problem:
        say(json.dumps(document(problem), ensure_ascii=False))
        return BAD_USAGE
    show(answer)
    return DONE


def _dose(options: argparse.Namespace) -> int:
    from api.dose import evaluate
    from api.dose.table import as_lines

    def show_lines(answer: dict) -> None:
        print("\n".join(as_lines(answer)))

    return _answered(evaluate.respond, show_lines if options.table else print_json)


def _hazard(options: argparse.Namespace) -> int:
    from api.dose.hazard import evaluate
    from api.dose.hazard.table import as_lines

    def show_lines(answer: dict) -> None:
        print("\n".join(as_lines(answer)))

    return _answered(evaluate.respond, show_lines if options.table else print_json)


def _heat(_options: argparse.Namespace) -> int:
    from api.dose import heat

    return _answered(heat.respond, print_json)
