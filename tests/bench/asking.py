"""Two applications under gunicorn with the settings of `dosebook serve`, and who asks them."""

import json
import sys
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from http.client import HTTPConnection, HTTPException

from api.commands.serve import GUNICORN_CONFIG
from tests.bench.processes import running

CLIENTS = 4


class Asked:
    """One connection to a server on loopback, kept open."""

    def __init__(self, port: int) -> None:
        self._connection = HTTPConnection("127.0.0.1", port, timeout=60)

    def post(self, path: str, body: bytes) -> bytes:
        """Return the answer's bytes; raises ``HTTPException`` where it is not 200."""
        self._connection.request("POST", path, body, {"Content-Type": "application/json"})
        response = self._connection.getresponse()
        answer = response.read()
        if response.status != 200:
            raise HTTPException(f"{response.status} {answer[:200]!r}")
        return answer

    def close(self) -> None:
        self._connection.close()


def gunicorn(application: str) -> list[str]:
    """Return the command that serves ``module:object`` with the settings of `dosebook serve`."""
    return [sys.executable, "-m", "gunicorn", "-c", str(GUNICORN_CONFIG), application]


@contextmanager
def served(application: str, data: str) -> Iterator[int]:
    """Serve ``module:object`` with its data in the folder ``data``; gives the port."""
    # One address asks more often here than any practice may. No URL is SQLite in the folder.
    environment = {
        "DOSEBOOK_DATA": data,
        "DATABASE_URL": "",
        "DOSEBOOK_LIMIT_FACTOR": "1000000",
    }
    with running(lambda _port: gunicorn(application), environment=environment) as server:
        yield server.port


def requests_per_second(port: int, path: str, body: bytes, seconds: float) -> float:
    """How many requests several clients have answered a second, each one after the other."""

    def ask(until: float) -> int:
        asked, count = Asked(port), 0
        while time.perf_counter() < until:
            asked.post(path, body)
            count += 1
        asked.close()
        return count

    began = time.perf_counter()
    with ThreadPoolExecutor(CLIENTS) as clients:
        count = sum(clients.map(ask, [began + seconds] * CLIENTS))
    return count / (time.perf_counter() - began)


def as_body(request: dict[str, object]) -> bytes:
    return json.dumps(request).encode()
