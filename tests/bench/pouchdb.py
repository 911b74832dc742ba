"""pouchdb-server on LevelDB, and PouchDB that replicates with it, both in Node."""

import json
import subprocess
import threading
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path

from tests.bench.clients import Client
from tests.bench.processes import Running, running

FOLDER = Path(__file__).resolve().parents[2] / "deploy" / "pouchdb"
_SERVER = FOLDER / "node_modules" / "pouchdb-server" / "bin" / "pouchdb-server"


def is_there() -> bool:
    """Say whether `deploy/bench` could install it."""
    return (FOLDER / "node_modules" / ".installed").exists()


@contextmanager
def served(folder: Path) -> Iterator[Running]:
    """Serve databases in a new folder."""
    folder.mkdir()

    def command(port: int) -> list[str]:
        return ["node", str(_SERVER), "--port", str(port), "--dir", str(folder), "-n"]

    with running(command, folder=folder) as server:
        yield server


def as_document(item: Mapping) -> dict:
    """Return an event's texts as one of its documents."""
    return {"_id": item["event_id"], **item}


class Site:
    """The server as a client of HTTP sees it."""

    def __init__(self, port: int) -> None:
        self._port = port
        self._each = threading.local()

    def new(self, name: str) -> str:
        """Make a database; return its address."""
        self._client.ask("PUT", f"/{name}")
        return f"http://127.0.0.1:{self._port}/{name}"

    def put(self, url: str, documents: Sequence[Mapping], batch: int) -> None:
        """Send documents as they are, without what replication asks and notes besides."""
        for first in range(0, len(documents), batch):
            part = documents[first : first + batch]
            done, _ = self._client.ask("POST", f"{_path(url)}/_bulk_docs", {"docs": part})
            if not all(one.get("ok") for one in done):
                raise RuntimeError(str(done)[:300])

    def pull(self, url: str, page: int) -> Iterator[list[dict]]:
        """Yield the documents of each page of the feed of changes."""
        since = 0
        while True:
            query = f"include_docs=true&limit={page}&since={since}"
            answer, _ = self._client.ask("GET", f"{_path(url)}/_changes?{query}")
            if not answer["results"]:
                return
            yield [one["doc"] for one in answer["results"]]
            since = answer["last_seq"]

    @property
    def _client(self) -> Client:
        # A connection for each thread, as each tablet has its own.
        if not hasattr(self._each, "client"):
            self._each.client = Client(self._port, {})
        return self._each.client


def _path(url: str) -> str:
    return "/" + url.rpartition("/")[2]


class Replica:
    """A tablet's own PouchDB, in a process of its own."""

    def __enter__(self) -> "Replica":
        self._process = subprocess.Popen(
            ["node", str(FOLDER / "replicate.js")],
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True,
        )  # fmt: skip
        return self

    def __exit__(self, *_: object) -> None:
        self._process.terminate()
        self._process.communicate(timeout=30)

    def fill(self, documents: Sequence[Mapping]) -> None:
        """Put documents into its own database."""
        self._tell({"fill": documents}, count=len(documents))

    def push(self, url: str, count: int) -> None:
        """Replicate what is new to a server; that must be ``count`` documents."""
        self._tell({"push": url}, count=count)

    def pull(self, url: str, count: int) -> None:
        """Replicate all that a server has into a new database; that must be ``count``."""
        self._tell({"pull": url}, count=count)

    def _tell(self, command: Mapping, *, count: int) -> None:
        self._process.stdin.write(json.dumps(command) + "\n")
        self._process.stdin.flush()
        answer = json.loads(self._process.stdout.readline())
        if answer.get("documents") != count:
            raise RuntimeError(f"{count} documents were wanted: {answer}")
