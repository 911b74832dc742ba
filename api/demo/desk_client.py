"""An office browser in Python: a session by password, and commands."""

import os
from collections.abc import Callable, Mapping
from typing import Any

from api.clock import Clock
from api.demo.tablet_client import ask
from api.demo.transport import Transport
from api.ids import new_id


class DeskClient:
    """A desk; ``origin`` is the address under which the server is reached."""

    def __init__(
        self,
        transport: Transport,
        clock: Clock,
        *,
        origin: str,
        random: Callable[[int], bytes] = os.urandom,
    ) -> None:
        self._transport = transport
        self._clock = clock
        self._random = random
        self._headers = {"Origin": origin, "Sec-Fetch-Site": "same-origin"}

    def sign_in(self, sign_in: str, password: str) -> dict:
        """Open a session; the transport keeps its cookie."""
        return self.ask("POST", "/session/password", {"sign_in": sign_in, "password": password})

    def sign_out(self) -> None:
        """End the session."""
        self.ask("DELETE", "/session")

    def ask(self, method: str, path: str, json: Any = None, **headers: str) -> Any:
        """Send a request as this desk."""
        return ask(self._transport, method, path, json, self._headers | headers)

    def command(
        self,
        type: str,
        entity_id: str,
        payload: Mapping,
        *,
        base_version: int | None = None,
        corrects: str | None = None,
    ) -> dict:
        """Do something; it becomes an event of the location's desk writer."""
        key = new_id(self._clock.now(), self._random)
        body: dict = {"entity_id": entity_id, "payload": payload}
        if base_version is not None:
            body["base_version"] = base_version
        if corrects is not None:
            body["corrects"] = corrects
        return self.ask("POST", f"/commands/{type}", body, **{"Idempotency-Key": key})
