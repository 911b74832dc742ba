"""Pushes and pulls beside two general-purpose libraries that keep documents in step.

PouchDB replicates into pouchdb-server on LevelDB and is held against ours on SQLite; Kinto keeps
what it takes on PostgreSQL and is held against ours there. Each gets the same texts from as many
clients at once, by turns with ours. `deploy/bench` installs both for itself; where one could not
be had, its figures have no value and say so.

What an answered push is worth: ours is checked, chained, projected and on the disk, on either
database. Kinto's is on the same PostgreSQL's disk. PouchDB's is with the operating system, since
its LevelDB does not wait for the disk: a power cut may take it back.
"""

import statistics
import tempfile
import time
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path

from api.demo.tablet_client import TabletClient
from api.migrations import run
from tests import postgresql
from tests.bench import kinto, pouchdb
from tests.bench.cases import EVENTS_A_CASE, batches
from tests.bench.clients import Client, pull, push
from tests.bench.figures import Figure
from tests.bench.ours import Ours
from tests.bench.processes import Running, cpu_s

TABLETS, ROUNDS, BATCHES_A_ROUND, BATCH = 4, 8, 8, 50
PULLED, PAGE, PULL_ROUNDS = 10_000, 200, 6
EVENTS_A_ROUND = TABLETS * BATCHES_A_ROUND * BATCH
CASES_A_TABLET = (ROUNDS + 1) * BATCHES_A_ROUND * BATCH // EVENTS_A_CASE
OURS = "ours"
# A clock of CPU time ticks a hundred times a second.
_TICK_S = 0.01

Took = Mapping[str, Sequence[tuple[float, float]]]


@dataclass(frozen=True)
class Way:
    """One of the ways that are compared: what it does in a round, and whose CPU time that takes.

    What is ``ready`` before the round is no part of it.
    """

    act: Callable[[int], None]
    process_ids: Sequence[int]
    ready: Callable[[int], None] = lambda _turn: None


def by_turns(ways: Mapping[str, Way], rounds: int) -> Took:
    """Return each way's seconds (wall, CPU) in each round, another one beginning each time.

    A first round warms all of them up and is not counted.
    """
    took: dict[str, list[tuple[float, float]]] = {name: [] for name in ways}
    names = list(ways)
    for turn in range(rounds + 1):
        first = turn % len(names)
        for name in names[first:] + names[:first]:
            way = ways[name]
            way.ready(turn)
            before, began = cpu_s(way.process_ids), time.perf_counter()
            way.act(turn)
            wall_s = time.perf_counter() - began
            if turn:
                took[name].append((wall_s, cpu_s(way.process_ids) - before))
    return took


def compared(name: str, want: str, took: Took, *, beside: str, count: int) -> Figure:
    """Return how many times as much as ``beside`` ours does in the same time: the rounds' median.

    ``count`` is how many events or documents a round has.
    """
    wall, cpu = _ratios(took, beside, 0), _ratios(took, beside, 1)
    return Figure(
        name=name, value=statistics.median(wall), unit="1", want=want,
        detail={
            "rounds": len(wall), "lowest": min(wall), "highest": max(wall),
            "by_cpu_of_servers": statistics.median(cpu),
            "beside": {
                each: statistics.median(_ratios(took, each, 0)) for each in took if each != OURS
            },
            "per_second": {
                each: round(count / statistics.median(wall_s for wall_s, _ in of))
                for each, of in took.items()
            },
            "cpu_of_servers_us_each": {
                each: round(1e6 / count * statistics.median(cpu_s for _, cpu_s in of))
                for each, of in took.items()
            },
        },
    )  # fmt: skip


def _ratios(took: Took, beside: str, which: int) -> list[float]:
    return [
        max(theirs[which], _TICK_S) / max(ours[which], _TICK_S)
        for ours, theirs in zip(took[OURS], took[beside], strict=True)
    ]


class _Fleet:
    """Our server's tablets, each with cases in its outbox and a connection of its own."""

    def __init__(self, ours: Ours, server: Running, at_once: ThreadPoolExecutor) -> None:
        self.at_once = at_once
        # No tablet's passes are those of another: a dose worked out once need not be again.
        made = [
            ours.tablet(server, range(which, CASES_A_TABLET * TABLETS, TABLETS))
            for which in range(TABLETS)
        ]
        self.items = [[event.item for event in tablet.waiting()] for tablet in made]
        self._batches = [batches(tablet) for tablet in made]
        self._clients = [Client(server.port, _bearer(tablet)) for tablet in made]

    def push(self, turn: int) -> None:
        """Let all push their batches of a round at once."""
        part = slice(turn * BATCHES_A_ROUND, (turn + 1) * BATCHES_A_ROUND)
        list(self.at_once.map(push, self._clients, [each[part] for each in self._batches]))

    def each(self, act: Callable[[int, list[dict]], None], turn: int) -> None:
        """Do something with each tablet's number and items of a round, with all at once."""
        size = BATCHES_A_ROUND * BATCH
        parts = [items[turn * size : (turn + 1) * size] for items in self.items]
        list(self.at_once.map(act, range(TABLETS), parts))

    def bodies(self) -> list[dict]:
        """Return texts for the documents that are pulled, with ids of their own."""
        known = [item for items in self.items for item in items]
        return [
            {**known[number % len(known)], "event_id": f"{number:08}"} for number in range(PULLED)
        ]


@contextmanager
def _stored(folder: Path, url: str, bodies: Sequence[dict], *beside: int) -> Iterator[Way]:
    """Serve a location of which these documents are all there is; give the way to pull them."""
    ours = Ours(folder, url)
    with ours.served() as server:
        client = Client(server.port, _bearer(ours.tablet(server)))
        ours.give("note", bodies)
        yield Way(lambda _turn: read(pull(client), at_least=PULLED), [server.process_id, *beside])


def read(pages: Iterable[list[dict]], *, at_least: int) -> None:
    """Read pages to their end; raise ``RuntimeError`` where fewer documents came."""
    came = sum(len(page) for page in pages)
    if came < at_least:
        raise RuntimeError(f"{came} documents came, {at_least} were wanted")


def _bearer(tablet: TabletClient) -> dict[str, str]:
    return {"Authorization": f"Bearer {tablet._token}"}


def against_pouchdb(folder: Path) -> Iterator[Figure]:
    """Ours on SQLite beside PouchDB, replicated into pouchdb-server on LevelDB."""
    url = f"sqlite:///{folder / 'dosebook.sqlite3'}"
    run.upgrade(url)
    ours = Ours(folder, url)
    with ExitStack() as stack:
        server = stack.enter_context(ours.served())
        theirs = stack.enter_context(pouchdb.served(folder / "pouchdb"))
        fleet = _Fleet(ours, server, stack.enter_context(ThreadPoolExecutor(TABLETS)))
        replicas = [stack.enter_context(pouchdb.Replica()) for _ in range(TABLETS)]
        site = pouchdb.Site(theirs.port)
        replicated, bare, stored = (site.new(name) for name in ("replicated", "bare", "stored"))

        def fill(number: int, items: list[dict]) -> None:
            replicas[number].fill([pouchdb.as_document(item) for item in items])

        def replicate(number: int, items: list[dict]) -> None:
            replicas[number].push(replicated, count=len(items))

        def send(_number: int, items: list[dict]) -> None:
            site.put(bare, [pouchdb.as_document(item) for item in items], BATCH)

        took = by_turns(
            {
                OURS: Way(fleet.push, [server.process_id]),
                "replication": Way(
                    lambda turn: fleet.each(replicate, turn),
                    [theirs.process_id],
                    ready=lambda turn: fleet.each(fill, turn),
                ),
                "_bulk_docs alone": Way(lambda turn: fleet.each(send, turn), [theirs.process_id]),
            },
            ROUNDS,
        )
        yield compared(
            "sync.push.vs_pouchdb", ">=1.0", took, beside="replication", count=EVENTS_A_ROUND
        )
        bodies = fleet.bodies()
        site.put(stored, [pouchdb.as_document(body) for body in bodies], PAGE)
        url = f"sqlite:///{folder / 'stored.sqlite3'}"
        run.upgrade(url)
        took = by_turns(
            {
                OURS: stack.enter_context(_stored(folder, url, bodies)),
                "_changes": Way(
                    lambda _: read(site.pull(stored, PAGE), at_least=PULLED), [theirs.process_id]
                ),
                "replication": Way(
                    lambda _: replicas[0].pull(stored, count=PULLED), [theirs.process_id]
                ),
            },
            PULL_ROUNDS,
        )
        yield compared("sync.pull.vs_pouchdb", ">=1.0", took, beside="_changes", count=PULLED)


def against_kinto(_folder: Path) -> Iterator[Figure]:
    """Ours on PostgreSQL beside Kinto on the same server, in batches of 25, which is its most."""
    with ExitStack() as stack:
        database = stack.enter_context(postgresql.running(durable=True))
        data = Path(stack.enter_context(tempfile.TemporaryDirectory()))
        ours = Ours(data, database.url(database.new_migrated()))
        server = stack.enter_context(ours.served())
        theirs = stack.enter_context(kinto.served(database))
        fleet = _Fleet(ours, server, stack.enter_context(ThreadPoolExecutor(TABLETS)))
        site = kinto.Site(theirs.port)
        # A collection for each tablet: in one, it refuses writers that come at the same moment.
        for name in ("stored", *(f"pushed{number}" for number in range(TABLETS))):
            site.new(name)
        of_ours = [server.process_id, database.process_id]
        of_theirs = [theirs.process_id, database.process_id]

        def send(number: int, items: list[dict]) -> None:
            site.put(f"pushed{number}", [kinto.as_record(item) for item in items])

        took = by_turns(
            {
                OURS: Way(fleet.push, of_ours),
                "batches of 25": Way(lambda turn: fleet.each(send, turn), of_theirs),
            },
            ROUNDS,
        )
        yield compared(
            "sync.push.vs_kinto", ">=10", took, beside="batches of 25", count=EVENTS_A_ROUND
        )
        bodies = fleet.bodies()
        url = database.url(database.new_migrated())
        kinto.store(database, "stored", [kinto.as_record(body) for body in bodies])
        took = by_turns(
            {
                OURS: stack.enter_context(_stored(data, url, bodies, database.process_id)),
                "pages of 200": Way(
                    lambda _: read(site.pull("stored", PAGE), at_least=PULLED), of_theirs
                ),
                "one answer": Way(
                    lambda _: read(site.pull("stored", PULLED), at_least=PULLED), of_theirs
                ),
            },
            PULL_ROUNDS,
        )
        yield compared("sync.pull.vs_kinto", ">=1.0", took, beside="pages of 200", count=PULLED)


def figures(folder: Path) -> Iterator[Figure]:
    """Every comparison whose other side is there; a figure without a value for each that is not."""
    for other, measure, wants in (
        (
            pouchdb,
            against_pouchdb,
            {"sync.push.vs_pouchdb": ">=1.0", "sync.pull.vs_pouchdb": ">=1.0"},
        ),
        (kinto, against_kinto, {"sync.push.vs_kinto": ">=10", "sync.pull.vs_kinto": ">=1.0"}),
    ):
        if other.is_there():
            yield from measure(folder)
        else:
            for name, want in wants.items():
                yield Figure(
                    name=name, value=None, unit="1", want=want,
                    detail={"problem": "the library could not be installed"},
                )  # fmt: skip
