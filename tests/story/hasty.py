"""The command `dosebook`, making secrets that cost little to check: for data of stories only.

The demo signs in a hundred times while it is loaded, and every story does so on a copy of it. What
is stored says how it was made, so the server that is asked about it is the program's own.
"""

import os

import api.cli
from api.people import secrets
from tests.haste import LEAST


def main() -> int | None:
    """Run the command."""
    secrets._HASHER = LEAST
    # Who the demo's people are, no story needs to be told: it goes where errors go.
    os.dup2(2, 1)
    return api.cli.main()
