"""Two applications under gunicorn with the settings of `dosebook serve`, and who asks them."""

import json
import os
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from http.client import HTTPConnection, HTTPException

from api.commands.serve import GUNICORN_CONFIG

CLIENTS = 4
START_S = 60


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


@contextmanager
def served(application: str, data: str) -> Iterator[int]:
    """Serve ``module:object`` with its data in the folder ``data``; gives the port."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    environment = {**os.environ, "PORT": str(port), "DOSEBOOK_DATA": data}
    # One address asks more often here than any practice may.
    environment["DOSEBOOK_LIMIT_FACTOR"] = "1000000"
    environment.pop("DATABASE_URL", None)
    process = subprocess.Popen(
        [sys.executable, "-m", "gunicorn", "-c", str(GUNICORN_CONFIG), application],
        env=environment,
        stderr=subprocess.DEVNULL,
    )
    try:
        _wait_until_open(process, port)
        yield port
    finally:
        process.terminate()
        process.wait(timeout=30)


def _wait_until_open(process: subprocess.Popen, port: int) -> None:
    until = time.monotonic() + START_S
    while True:
        try:
            socket.create_connection(("127.0.0.1", port), timeout=2).close()
            return
        except OSError:
            if process.poll() is not None or time.monotonic() > until:
                raise
            time.sleep(0.05)


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
