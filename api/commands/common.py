"""What every command shares: its place among the others, its output, the database, progress."""

import argparse
import json
import sys
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path

from api.settings import Settings

DONE, DOES_NOT_HOLD, BAD_USAGE = 0, 1, 2


def command(
    under, name: str, run: Callable[[argparse.Namespace], int], words: str
) -> argparse.ArgumentParser:
    """Add a command that ``run`` carries out and gives an exit code for; return its parser."""
    made = under.add_parser(name, help=words, description=words)
    made.set_defaults(run=run)
    return made


def group(under, name: str, words: str):
    """Add a word that has commands under it, and return where they go."""
    made = under.add_parser(name, help=words, description=words)
    return made.add_subparsers(required=True, metavar="COMMAND")


def as_json(parser: argparse.ArgumentParser) -> None:
    """Let a command answer machines."""
    parser.add_argument("--json", action="store_true", help="one JSON object for machines")


def there(path: str) -> Path:
    """Return the path of a file that has to be there: one that was mistyped is no empty one."""
    if not Path(path).is_file():
        raise argparse.ArgumentTypeError(f"{path} is not there")
    return Path(path).resolve()


def say(text: str) -> None:
    """Print a line for people, apart from what a command answers."""
    print(text, file=sys.stderr)


def print_restored(done: Mapping, what: str, afterwards: str) -> None:
    """Print what a restore has done, and what is left to do."""
    print(what)
    for each in done["locations"]:
        print(f"Location {each['location_id']} goes on after entry {each['position']}.")
    for each in done["set_aside"]:
        print(f"What was there before is kept as {each}.")
    pictures = done.get("photographs") or {"kept": 0, "spoilt": 0}
    if pictures["kept"]:
        print(f"{pictures['kept']} photographs are back.")
    if pictures["spoilt"]:
        say(
            f"{pictures['spoilt']} photographs at the group are not what the log says of them, and "
            "were left there."
        )
    if done["erased_again"]:
        print(f"Erased again, as it was after what was put back: {done['erased_again']} erasures.")
    if not done["rewritten"]:
        say(
            "What was erased again is still among the bytes of the files until `dosebook work` or "
            "`dosebook erasures purge` has written them anew."
        )
    print(afterwards)


def print_json(value: object) -> None:
    """Print a command's answer for machines."""
    print(json.dumps(value, ensure_ascii=False))


@contextmanager
def open_database(settings: Settings) -> Iterator:
    """Yield the database's engine, closed afterwards."""
    from api.storage.engine import EVERYWHERE, open_engine

    # Whoever may run a command on the server's machine is in charge of every location there.
    engine = open_engine(settings.database_url, reach=EVERYWHERE)
    try:
        yield engine
    finally:
        engine.dispose()


@contextmanager
def progress_of(words: str) -> Iterator[Callable[[int, int], None]]:
    """Yield a function taking (done, of): a bar on a terminal, else one plain line."""
    if sys.stderr.isatty():
        from tqdm import tqdm

        with tqdm(desc=words, unit="") as bar:

            def show(done: int, total: int) -> None:
                bar.total = total
                bar.update(done - bar.n)

            yield show
        return
    last = (0, 0)

    def keep(done: int, total: int) -> None:
        nonlocal last
        last = (done, total)

    yield keep
    say(f"{words}: {last[0]} of {last[1]}")
