"""A location whose log is as long as wanted, with a tablet and a person, in this process."""

import json
import time
from collections.abc import Iterator, Sequence
from pathlib import Path

from api.app import create_app
from api.clock import SystemClock
from api.demo.tablet_client import TabletClient
from api.events import build, signing
from api.ids import new_id
from api.migrations import run
from api.settings import PROTOCOL_VERSION, Settings
from api.storage import documents, event_store, reach, readers
from api.storage.engine import Connection, read, write
from api.sync.protocol import Cursor, write_cursor
from tests.bench.cases import record_case
from tests.web.practice import Practice

CHUNK = 5_000


class LongLog:
    """A practice of one location on a database of its own."""

    def __init__(self, folder: Path) -> None:
        url = f"sqlite:///{folder / 'dosebook.sqlite3'}"
        run.upgrade(url)
        environment = {"DOSEBOOK_DATA": str(folder), "DOSEBOOK_LIMIT_FACTOR": "1000000"}
        self._clock = SystemClock()
        self.app = create_app(Settings.from_env(environment), clock=self._clock)
        with reach.within(*reach.EVERYWHERE):
            # A clock that moves by itself: nothing here advances it.
            self.practice = Practice(self.app, self._clock, roles=("clinician",))
            self.tablet: TabletClient = self.practice.tablet("clinician")
        self.person_id = self.practice.people["clinician"]
        self.location_id = self.practice.location_id
        self.engine = self.practice.house.engine

    def fill(self, length: int) -> None:
        """Append entries until the log has ``length``, each changing a document of its own.

        Their signatures are that of one text: nothing here reads them.
        """
        pattern = self._pattern()
        with reach.within(*reach.EVERYWHERE):
            while (position := self._position()) < length:
                numbers = range(position + 1, min(position + CHUNK, length) + 1)
                with write(self.engine) as connection:
                    event_store.append(
                        connection,
                        self.location_id,
                        [self._entry(pattern, number) for number in numbers],
                        received_at=self._clock.now(),
                        project=self._change,
                    )

    def pull_last(self, count: int) -> int:
        """Pull what the last entries changed, as a tablet does; return how many documents came."""
        cursor = Cursor(self._epoch, self.location_id, documents.HOUSE, self._position() - count)
        page = self.tablet.ask("GET", f"/sync/pull?feed=house&cursor={write_cursor(cursor)}")
        return len(page["documents"])

    def push_case(self, number: int) -> Iterator[float]:
        """Record a case and push it event by event; yield the seconds of each of its passes."""
        record_case(self.tablet, self.person_id, number)
        for event in self.tablet.waiting():
            body = {"protocol": PROTOCOL_VERSION, "epoch": self._epoch, "items": [event.item]}
            began = time.perf_counter()
            [event.result] = self.tablet.ask("POST", "/sync/push", body)["results"]
            took = time.perf_counter() - began
            assert event.settled, event.result
            if json.loads(event.item["body"])["type"] == "pass.started":
                yield took

    @property
    def _epoch(self) -> str:
        return self.tablet.identity["epoch"]

    def _position(self) -> int:
        with reach.within(*reach.EVERYWHERE), read(self.engine) as connection:
            return readers.location_row(connection, self.location_id)["position"]

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
        body |= {"event_id": new_id(self._clock.now()), "tablet_seq": number}
        body["entity_id"] = body["event_id"]
        return event_store.NewEntry(
            event_id=body["event_id"],
            tablet_id=body["tablet_id"],
            tablet_seq=number,
            body=json.dumps(body, separators=(",", ":")),
            payload=pattern["payload"],
            salt=bytes.fromhex(pattern["salt"]),
            signature=pattern["signature"],
            verdict="applied",
            reason=None,
            parsed_body=body,
            parsed_payload=None,
        )

    def _change(self, connection: Connection, entries: Sequence[dict]) -> None:
        for entry in entries:
            documents.put(
                connection,
                self.location_id,
                "note",
                entry["event_id"],
                {"version": entry["position"], "text": "Dry field throughout."},
                position=entry["position"],
            )
