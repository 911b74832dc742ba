"""Kinto on PostgreSQL, served by the same gunicorn settings as ours."""

import base64
import json
import os
import subprocess
import threading
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path

import psycopg

from api.commands.serve import GUNICORN_CONFIG
from tests.bench.clients import Client
from tests.bench.processes import Running, running
from tests.postgresql import SUPERUSER, Server

ROOT = Path(__file__).resolve().parents[2]
_PYTHON = ROOT / "deploy" / "kinto" / ".venv" / "bin" / "python"
# Its own limit of one request for several.
MOST_IN_A_BATCH = 25
_BUCKET = "/v1/buckets/bench"


def is_there() -> bool:
    """Say whether `deploy/bench` could install it."""
    return (_PYTHON.parents[1] / ".installed").exists()


@contextmanager
def served(server: Server) -> Iterator[Running]:
    """Serve it on a new database of a PostgreSQL server."""
    server.run("CREATE DATABASE kinto")
    url = server.url("kinto", as_role=SUPERUSER).replace("+psycopg", "")
    # The setting of gunicorn that ours has on PostgreSQL goes by the same variable.
    environment = {"KINTO_DATABASE": url, "DATABASE_URL": url}
    made = subprocess.run(
        [str(_PYTHON), "-m", "tests.bench.kinto_site"],
        cwd=ROOT, env={**os.environ, **environment}, capture_output=True, text=True,
    )  # fmt: skip
    if made.returncode:
        raise RuntimeError(made.stderr[-2000:])
    application = "tests.bench.kinto_site:application"
    command = [str(_PYTHON), "-m", "gunicorn", "-c", str(GUNICORN_CONFIG), application]
    with running(lambda _port: command, environment=environment, folder=ROOT) as process:
        yield process


def as_record(item: Mapping) -> dict:
    """Return an event's texts as one of its records."""
    return {"id": item["event_id"], **item}


def store(server: Server, collection: str, records: Sequence[Mapping]) -> None:
    """Put records into its table as it would itself, which takes it minutes for thousands."""
    address = server.url("kinto", as_role=SUPERUSER).replace("+psycopg", "")
    statement = (
        "INSERT INTO objects (id, parent_id, resource_name, last_modified, data, deleted)"
        " VALUES (%s, %s, 'record', TIMESTAMP '2026-01-01' + %s * INTERVAL '1 ms', %s, false)"
    )
    parent = f"/buckets/bench/collections/{collection}"
    with psycopg.connect(address) as connection, connection.cursor() as cursor:
        cursor.executemany(
            statement,
            [
                (each["id"], parent, number, json.dumps(each))
                for number, each in enumerate(records, start=1)
            ],
        )
        cursor.execute("ANALYZE objects")


class Site:
    """The server as a client of HTTP sees it."""

    def __init__(self, port: int) -> None:
        self._port = port
        self._each = threading.local()
        self._client.ask("PUT", _BUCKET)

    def new(self, name: str) -> None:
        """Make a collection."""
        self._client.ask("PUT", f"{_BUCKET}/collections/{name}")

    def put(self, collection: str, records: Sequence[Mapping]) -> None:
        """Send records, as many at once as it takes."""
        path = f"{_BUCKET}/collections/{collection}/records"
        for first in range(0, len(records), MOST_IN_A_BATCH):
            asked = [
                {"method": "PUT", "path": f"{path}/{each['id']}", "body": {"data": each}}
                for each in records[first : first + MOST_IN_A_BATCH]
            ]
            answer, _ = self._client.ask("POST", "/v1/batch", {"requests": asked})
            refused = [one for one in answer["responses"] if one["status"] != 201]
            if refused:
                raise RuntimeError(str(refused)[:1000])

    def pull(self, collection: str, page: int) -> Iterator[list[dict]]:
        """Yield the records of each page, the oldest first."""
        path = f"{_BUCKET}/collections/{collection}/records?_sort=last_modified&_limit={page}"
        while path:
            answer, headers = self._client.ask("GET", path)
            yield answer["data"]
            path = (headers["Next-Page"] or "").partition(f":{self._port}")[2]

    @property
    def _client(self) -> Client:
        # A connection for each thread, as each tablet has its own.
        if not hasattr(self._each, "client"):
            said = base64.b64encode(b"bench:bench").decode()
            self._each.client = Client(self._port, {"Authorization": f"Basic {said}"})
        return self._each.client
