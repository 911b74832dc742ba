"""Our own server as the comparisons use it: on either database, with tablets that have cases."""

import json
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path

from api.app import create_app
from api.clock import SystemClock
from api.demo.tablet_client import TabletClient
from api.demo.transport import from_url
from api.events import build, signing
from api.ids import new_id
from api.settings import Settings
from api.storage import documents, event_store, reach
from api.storage.engine import Connection, write
from tests.bench.asking import gunicorn
from tests.bench.cases import record_case
from tests.bench.processes import Running, running
from tests.web.practice import Practice

CHUNK = 5_000


class Ours:
    """A practice of one location on a database that was migrated, and its server's address."""

    def __init__(self, folder: Path, database_url: str) -> None:
        self._clock = SystemClock()
        self._environment = {
            "DOSEBOOK_DATA": str(folder),
            "DATABASE_URL": database_url,
            # One address asks more often here than any practice may.
            "DOSEBOOK_LIMIT_FACTOR": "1000000",
        }
        app = create_app(Settings.from_env(self._environment), clock=self._clock)
        with reach.within(*reach.EVERYWHERE):
            self.practice = Practice(app, self._clock, roles=("clinician",))
        self.person_id = self.practice.people["clinician"]
        self.location_id = self.practice.location_id
        self.engine = self.practice.house.engine

    @contextmanager
    def served(self) -> Iterator[Running]:
        """Serve it as `dosebook serve` does, in processes of its own."""
        command = gunicorn("api.wsgi:application")
        with running(lambda _port: command, environment=self._environment) as server:
            yield server

    def tablet(self, server: Running, cases: Iterable[int] = ()) -> TabletClient:
        """Return a tablet enrolled at the running server, with the cases of these numbers."""
        with reach.within(*reach.EVERYWHERE):
            code = self.practice.code()
        url = f"http://127.0.0.1:{server.port}"
        made = TabletClient(from_url(url), self._clock, label="Chair")
        made.enrol(code)
        made.prove()
        for number in cases:
            record_case(made, self.person_id, number)
        return made

    def give(self, kind: str, bodies: Sequence[Mapping]) -> None:
        """Append an entry for each body, which becomes a document of its own.

        The entries' signatures are that of one text: nothing here reads them.
        """
        pattern = self._pattern()
        with reach.within(*reach.EVERYWHERE):
            for first in range(0, len(bodies), CHUNK):
                part = bodies[first : first + CHUNK]
                entries = [
                    self._entry(pattern, number) for number in range(first, first + len(part))
                ]
                with write(self.engine) as connection:
                    event_store.append(
                        connection,
                        self.location_id,
                        entries,
                        received_at=self._clock.now(),
                        project=_keeping(self.location_id, kind, part),
                    )

    def _pattern(self) -> dict:
        return build.build_item(
            signing.new_private_key(),
            event_id=new_id(self._clock.now()),
            tablet_id=new_id(self._clock.now()),
            tablet_seq=1,
            location_id=self.location_id,
            actor_id=self.person_id,
            type="procedure.noted",
            entity_id=new_id(self._clock.now()),
            payload={"text": "Dry field throughout."},
            occurred_at=self._clock.now(),
            zone="Europe/Lisbon",
            app_build="bench",
            engine_version="1.0.0",
        )

    def _entry(self, pattern: dict, number: int) -> event_store.NewEntry:
        body = json.loads(pattern["body"])
        body |= {"event_id": new_id(self._clock.now()), "tablet_seq": number + 1}
        body["entity_id"] = body["event_id"]
        return event_store.NewEntry(
            event_id=body["event_id"],
            tablet_id=body["tablet_id"],
            tablet_seq=body["tablet_seq"],
            body=json.dumps(body, separators=(",", ":")),
            payload=pattern["payload"],
            salt=bytes.fromhex(pattern["salt"]),
            signature=pattern["signature"],
            verdict="applied",
            reason=None,
            parsed_body=body,
            parsed_payload=None,
        )


def _keeping(
    location_id: str, kind: str, bodies: Sequence[Mapping]
) -> Callable[[Connection, Sequence[dict]], None]:
    def project(connection: Connection, entries: Sequence[dict]) -> None:
        for entry, body in zip(entries, bodies, strict=True):
            documents.put(
                connection,
                location_id,
                kind,
                entry["event_id"],
                dict(body),
                position=entry["position"],
            )

    return project
