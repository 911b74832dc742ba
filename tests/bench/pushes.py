"""Durable pushes in batches of fifty: ours, and a naive insert of the same bodies, by turns.

On SQLite and on PostgreSQL, the naive side each time on the same engine, as durable, under the same
web server and asked by the same clients. Beside it stands what is left of it when it does not look
into the texts of an event.
"""

from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import ExitStack
from pathlib import Path

from api.migrations import run
from tests import postgresql
from tests.bench import naive
from tests.bench.asking import gunicorn
from tests.bench.cases import batches
from tests.bench.clients import API, Client, push
from tests.bench.figures import Figure
from tests.bench.others import OURS, Way, by_turns, compared
from tests.bench.ours import Ours
from tests.bench.processes import Running, running

TABLETS, ROUNDS, BATCHES_A_ROUND, CASES_A_BATCH = 4, 8, 4, 5
EVENTS_A_ROUND = TABLETS * BATCHES_A_ROUND * 50
CASES_A_TABLET = (ROUNDS + 1) * BATCHES_A_ROUND * CASES_A_BATCH
NAIVE, UNREAD = "naive", "naive, texts not read"


def figures(folder: Path) -> Iterator[Figure]:
    """Measure it on both databases; what is wanted is wanted on SQLite."""
    urls = [f"sqlite:///{folder / name}.sqlite3" for name in ("dosebook", "naive", "unread")]
    run.upgrade(urls[0])
    yield _measured("sync.push.vs_naive", ">=0.25", folder, urls)
    with postgresql.running(durable=True) as server:
        urls = [
            server.url(server.new_migrated()),
            *(server.url(server.new_empty(), as_role=postgresql.OWNER) for _ in range(2)),
        ]
        yield _measured(
            "sync.push.vs_naive_on_postgresql", None, folder, urls, beside=[server.process_id]
        )


def _measured(
    name: str, want: str | None, folder: Path, urls: Sequence[str], *, beside: Sequence[int] = ()
) -> Figure:
    """Compare pushes to the databases of ``urls``; ``beside`` are processes that work for all."""
    our_url, naive_url, unread_url = urls
    ours = Ours(folder, our_url)
    with ExitStack() as stack:
        server = stack.enter_context(ours.served())
        read, unread = (
            stack.enter_context(running(lambda _port: NAIVELY, environment=_naive(url)))
            for url in (naive_url, unread_url)
        )
        at_once = stack.enter_context(ThreadPoolExecutor(TABLETS))
        # Its port is open before its processes are there, and a tablet does not wait for long.
        Client(server.port, {}).ask("GET", f"{API}/health")
        # No tablet's passes are those of another: a dose worked out once need not be again.
        tablets = [
            ours.tablet(server, range(which, CASES_A_TABLET * TABLETS, TABLETS))
            for which in range(TABLETS)
        ]
        bodies = [batches(tablet) for tablet in tablets]

        def way(to: Running, path: str, tokens: Sequence[str | None]) -> Way:
            clients = [
                Client(to.port, {} if token is None else {"Authorization": f"Bearer {token}"})
                for token in tokens
            ]

            def act(turn: int) -> None:
                part = slice(turn * BATCHES_A_ROUND, (turn + 1) * BATCHES_A_ROUND)
                sent = [each[part] for each in bodies]
                list(at_once.map(push, clients, sent, [path] * TABLETS))

            return Way(act, [to.process_id, *beside])

        took = by_turns(
            {
                OURS: way(server, f"{API}/sync/push", [each._token for each in tablets]),
                NAIVE: way(read, f"{API}/sync/push", [None] * TABLETS),
                UNREAD: way(unread, "/envelope", [None] * TABLETS),
            },
            ROUNDS,
        )
    return compared(name, want, took, beside=NAIVE, count=EVENTS_A_ROUND)


NAIVELY = gunicorn("tests.bench.naive:application")


def _naive(url: str) -> dict[str, str]:
    naive.create(url)
    # Named as ours is, for the web server's settings go by it.
    return {"DATABASE_URL": url}
