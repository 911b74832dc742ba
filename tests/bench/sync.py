"""What the log costs: pushes and pulls beside other ways to keep the same bodies, and how it grows.

`bash deploy/bench sync` runs this. Whatever is compared is asked by turns in one run, so that what
else the machine does falls on both; the figures are ratios.
"""

import hashlib
import http.client
import statistics
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from api.app import create_app
from api.clock import SystemClock
from api.demo.tablet_client import TabletClient
from api.demo.transport import from_url
from api.events import chain
from api.migrations import run
from api.settings import Settings
from api.storage import reach
from tests.bench import growing, others
from tests.bench.asking import served
from tests.bench.cases import batches, record_case
from tests.bench.figures import Figure, show
from tests.web.practice import Practice

TABLETS, ROUNDS, BATCHES_A_ROUND, CASES_A_BATCH = 4, 8, 4, 5
LINKS, LINK_ROUNDS = 20_000, 9


class Sender:
    """One tablet's connection to one server, kept open for a round."""

    def __init__(self, port: int, token: str | None) -> None:
        self._connection = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
        self._headers = {"Content-Type": "application/json"}
        if token is not None:
            self._headers["Authorization"] = f"Bearer {token}"

    def push(self, bodies: Sequence[bytes]) -> None:
        """Send batches one after the other; every event has to be applied."""
        for body in bodies:
            self._connection.request("POST", "/api/v1/sync/push", body, self._headers)
            response = self._connection.getresponse()
            answer = response.read()
            wanted = answer.count(b'"outcome"')
            applied = answer.count(b'"applied"') - answer.count(b'"verdict":"applied"')
            if response.status != 200 or applied != wanted:
                raise RuntimeError(f"{response.status}: {answer[:300]!r}")
        self._connection.close()


def pushes(folder: Path) -> Iterator[Figure]:
    """Durable pushes in batches of fifty: ours, and the naive insert of the same bodies."""
    run.upgrade(f"sqlite:///{folder / 'dosebook.sqlite3'}")
    app = create_app(Settings.from_env({"DOSEBOOK_DATA": str(folder)}), clock=SystemClock())
    with reach.within(*reach.EVERYWHERE):
        practice = Practice(app, SystemClock(), roles=("clinician",))
        codes = [practice.code() for _ in range(TABLETS)]
    person_id = practice.people["clinician"]
    with (
        served("api.wsgi:application", str(folder)) as ours,
        served("tests.bench.naive:application", str(folder)) as naive,
        ThreadPoolExecutor(TABLETS) as at_once,
    ):
        tablets = []
        for code in codes:
            made = TabletClient(from_url(f"http://127.0.0.1:{ours}"), SystemClock(), label="Chair")
            made.enrol(code)
            made.prove()
            for number in range((ROUNDS + 1) * BATCHES_A_ROUND * CASES_A_BATCH):
                record_case(made, person_id, number)
            tablets.append(made)
        bodies = [batches(tablet) for tablet in tablets]
        senders = {
            "ours": [Sender(ours, tablet._token) for tablet in tablets],
            "naive": [Sender(naive, None) for _ in tablets],
        }
        rates: dict[str, list[float]] = {name: [] for name in senders}
        for turn in range(ROUNDS + 1):
            part = slice(turn * BATCHES_A_ROUND, (turn + 1) * BATCHES_A_ROUND)
            for name, each in senders.items():
                began = time.perf_counter()
                list(at_once.map(Sender.push, each, [sent[part] for sent in bodies]))
                took = time.perf_counter() - began
                # The first round warms both up.
                if turn:
                    rates[name].append(TABLETS * BATCHES_A_ROUND * 50 / took)
    ratios = [a / b for a, b in zip(rates["ours"], rates["naive"], strict=True)]
    yield Figure(
        name="sync.push.vs_naive", value=statistics.median(ratios), unit="1", want=">=0.25",
        detail={
            "rounds": ROUNDS, "lowest": min(ratios), "highest": max(ratios),
            "events_per_second": {name: round(statistics.median(of)) for name, of in rates.items()},
        },
    )  # fmt: skip


def links() -> Iterator[Figure]:
    """Links checked a second, against plain SHA-256 of the same bytes."""
    texts = [
        (f'{{"position":{n},"said":"{"h" * 400}"}}', f'{{"seq":{n},"said":"{"b" * 500}"}}')
        for n in range(LINKS)
    ]
    plain = [(header + body).encode() for header, body in texts]
    ratios = []
    for _ in range(LINK_ROUNDS):
        began = time.perf_counter()
        for one in plain:
            hashlib.sha256(one).digest()
        between = time.perf_counter()
        link = chain.FIRST_LINK
        for header, body in texts:
            link = chain.link(
                previous=link, header_hash=chain.sha256(header), body_hash=chain.sha256(body)
            )
        ratios.append((between - began) / (time.perf_counter() - between))
    yield Figure(
        name="sync.verify.vs_sha256", value=statistics.median(ratios), unit="1", want=">=0.1",
        detail={"links": LINKS, "rounds": LINK_ROUNDS},
    )  # fmt: skip


def main() -> int:
    show(links())
    for measure in (pushes, others.figures, growing.figures):
        with tempfile.TemporaryDirectory() as folder:
            show(measure(Path(folder)))
    return 0


if __name__ == "__main__":
    sys.exit(main())
