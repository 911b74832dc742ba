"""A client's one connection to a server on loopback, kept open, and what it asks of ours."""

import http.client
import json
import time
from collections.abc import Iterator, Sequence
from typing import Any

API = "/api/v1"
# Sooner than any of the servers closes a connection that is not used.
IDLE_S = 2


class Client:
    """One client; ``headers`` go with each of its requests."""

    def __init__(self, port: int, headers: dict[str, str]) -> None:
        self._connection = http.client.HTTPConnection("127.0.0.1", port, timeout=120)
        self._headers = {"Content-Type": "application/json", **headers}
        self._used_s = time.monotonic()

    def ask(self, method: str, path: str, body: Any = None) -> tuple[Any, http.client.HTTPMessage]:
        """Send JSON (bytes go as they are); return the answer and its headers.

        Raises ``RuntimeError`` for a status that is not of success.
        """
        sent = body if body is None or isinstance(body, bytes) else json.dumps(body).encode()
        if time.monotonic() - self._used_s > IDLE_S:
            self._connection.close()
        self._connection.request(method, path, sent, self._headers)
        response = self._connection.getresponse()
        answer = response.read()
        self._used_s = time.monotonic()
        if not 200 <= response.status < 300:
            raise RuntimeError(f"{method} {path}: {response.status} {answer[:300]!r}")
        return json.loads(answer), response.headers


def push(client: Client, bodies: Sequence[bytes], path: str = f"{API}/sync/push") -> None:
    """Push batches, one after the other; every event has to be applied."""
    for body in bodies:
        results = client.ask("POST", path, body)[0]["results"]
        if any(one["outcome"] != "applied" for one in results):
            raise RuntimeError(str(results)[:300])


def pull(client: Client) -> Iterator[list[dict]]:
    """Yield the documents of each page of ours, from the first to the last."""
    cursor, more = "", True
    while more:
        page = client.ask("GET", f"{API}/sync/pull?limit=200{cursor}")[0]
        yield page["documents"]
        cursor, more = f"&cursor={page['next_cursor']}", page["more"]
