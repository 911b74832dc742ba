"""What a long log costs more than a short one: a pull of what changed last, and one more pass.

Both logs lie on the same database and are asked by turns. Beside the time that passed stands the
CPU time of this process, which on SQLite is all that was done.
"""

import statistics
from collections.abc import Iterator
from pathlib import Path

from tests.bench.figures import Figure
from tests.bench.long_log import LongLog

SHORT_LOG, LONG_LOG = 10_000, 1_000_000
CHANGED, PULLS = 100, 40
CASES = 10


def figures(folder: Path) -> Iterator[Figure]:
    """Fill a log of ten thousand entries and one of a million, and measure them by turns."""
    logs = []
    for length in (SHORT_LOG, LONG_LOG):
        (folder / str(length)).mkdir()
        logs.append(LongLog(folder / str(length)))
        logs[-1].fill(length)
    yield from measured(*logs)


def measured(short: LongLog, long: LongLog) -> Iterator[Figure]:
    """Return how pulling and projecting grow from one log to the other."""
    pulls: list[list[tuple[float, float]]] = [[], []]
    passes: list[list[tuple[float, float]]] = [[], []]
    lengths = [short.position(), long.position()]
    # The first of each warms up and is not counted.
    for turn in range(PULLS + 1):
        for which, log in _by_turns(turn, short, long):
            count, took = log.pull_last(CHANGED)
            if count != CHANGED:
                raise RuntimeError(f"{count} documents came, {CHANGED} were wanted")
            pulls[which] += [took] if turn else []
    for turn in range(CASES + 1):
        for which, log in _by_turns(turn, short, long):
            took = list(log.push_case(turn))
            passes[which] += took if turn else []
    yield _grown("sync.delta.growth", pulls, lengths)
    yield _grown("sync.project.growth", passes, lengths)


def _by_turns(turn: int, *logs: LongLog) -> list[tuple[int, LongLog]]:
    numbered = list(enumerate(logs))
    return numbered if turn % 2 else numbered[::-1]


def _grown(name: str, took: list[list[tuple[float, float]]], lengths: list[int]) -> Figure:
    wall, cpu = (
        statistics.median(long[kind] / short[kind] for short, long in zip(*took, strict=True))
        for kind in (0, 1)
    )
    milliseconds = [
        [1000 * statistics.median(one[kind] for one in of) for of in took] for kind in (0, 1)
    ]
    return Figure(
        name=name, value=wall, unit="1", want="<=1.5",
        detail={
            "entries": lengths, "rounds": len(took[0]), "by_cpu": cpu,
            "ms": milliseconds[0], "cpu_ms": milliseconds[1],
        },
    )  # fmt: skip
