"""A location whose log is as long as wanted, with a tablet and a person, in this process.

One case is recorded and pushed as a chair does it; all others are written as copies of what that
left in the tables, with ids, numbers in the chart and positions of their own: the same rows and
indexes as a million pushed events, in minutes. The links of the log are true; the signatures are
those of the first case, and nothing here reads them.
"""

import json
import time
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

from sqlalchemy import Table, insert, select, update

from api.app import create_app
from api.clock import SystemClock
from api.demo.tablet_client import TabletClient
from api.events import chain
from api.ids import new_id
from api.migrations import run
from api.settings import PROTOCOL_VERSION, Settings
from api.storage import documents, event_store, reach, readers, tables
from api.storage.engine import Connection, read, write
from api.sync.protocol import Cursor, write_cursor
from tests.bench.cases import EVENTS_A_CASE, record_case
from tests.web.practice import Practice

CASES_A_CHUNK = 500
_OF_FIRST = "C-0"
# What the case left beside its events, and the column that names the record.
_BESIDE = {
    tables.record_index: "record_id",
    tables.handpiece_use: "record_id",
    tables.job: "record_id",
    tables.access_log: "subject_id",
}


class LongLog:
    """A practice of one location on a database of its own, an SQLite file unless ``url`` says."""

    def __init__(self, folder: Path, url: str | None = None) -> None:
        self.url = url or f"sqlite:///{folder / 'dosebook.sqlite3'}"
        if url is None:
            run.upgrade(self.url)
        environment = {
            "DOSEBOOK_DATA": str(folder),
            "DATABASE_URL": self.url,
            "DOSEBOOK_LIMIT_FACTOR": "1000000",
        }
        self._clock = SystemClock()
        self.app = create_app(Settings.from_env(environment), clock=self._clock)
        with reach.within(*reach.EVERYWHERE):
            # A clock that moves by itself: nothing here advances it.
            self.practice = Practice(self.app, self._clock, roles=("clinician",))
            self.tablet: TabletClient = self.practice.tablet("clinician")
            self._writer: TabletClient = self.practice.tablet()
        self.person_id = self.practice.people["clinician"]
        self.location_id = self.practice.location_id
        self.engine = self.practice.house.engine

    def fill(self, length: int) -> None:
        """Append whole cases until the log has ``length`` entries or up to nine fewer.

        Each entry changes a document of the house besides, so that pulls have something to bring.
        """
        with reach.within(*reach.EVERYWHERE):
            first = self._first_case()
            cases = (length - self.position()) // EVENTS_A_CASE
            for number in range(1, cases + 1, CASES_A_CHUNK):
                numbers = range(number, min(number + CASES_A_CHUNK, cases + 1))
                copies = [_Copy(first, each, new_id(self._clock.now())) for each in numbers]
                with write(self.engine) as connection:
                    event_store.append(
                        connection,
                        self.location_id,
                        [entry for copy in copies for entry in copy.entries()],
                        received_at=self._clock.now(),
                        project=lambda connection, entries, copies=copies: self._project(
                            connection, entries, copies
                        ),
                    )
            self._count_on(cases)

    def pull_last(self, count: int) -> tuple[int, tuple[float, float]]:
        """Pull what the last entries changed, as a tablet does.

        Return how many documents came, and the seconds (wall, CPU) that it took.
        """
        cursor = Cursor(self._epoch, self.location_id, documents.HOUSE, self.position() - count)
        began, cpu = time.perf_counter(), time.process_time()
        page = self.tablet.ask("GET", f"/sync/pull?feed=house&cursor={write_cursor(cursor)}")
        took = time.perf_counter() - began, time.process_time() - cpu
        return len(page["documents"]), took

    def push_case(self, number: int) -> Iterator[tuple[float, float]]:
        """Record a case and push it event by event; yield the seconds (wall, CPU) of each pass."""
        record_case(self.tablet, self.person_id, number)
        for event in self.tablet.waiting():
            body = {"protocol": PROTOCOL_VERSION, "epoch": self._epoch, "items": [event.item]}
            began, cpu = time.perf_counter(), time.process_time()
            [event.result] = self.tablet.ask("POST", "/sync/push", body)["results"]
            took = time.perf_counter() - began, time.process_time() - cpu
            assert event.settled, event.result
            if json.loads(event.item["body"])["type"] == "pass.started":
                yield took

    def position(self) -> int:
        """Return where the log ends."""
        with reach.within(*reach.EVERYWHERE), read(self.engine) as connection:
            return readers.location_row(connection, self.location_id)["position"]

    @property
    def _epoch(self) -> str:
        return self.tablet.identity["epoch"]

    def _first_case(self) -> "_First":
        record_id = record_case(self._writer, self.person_id, 0)
        self._writer.push()
        with read(self.engine) as connection:
            return _First(connection, self._writer, record_id)

    def _project(
        self, connection: Connection, entries: Sequence[dict], copies: Sequence["_Copy"]
    ) -> None:
        rows: dict[Table, list[dict]] = {table: [] for table in (tables.document, *_BESIDE)}
        for number, copy in enumerate(copies):
            own = entries[number * EVENTS_A_CASE : (number + 1) * EVENTS_A_CASE]
            for table, row in copy.rows(own[-1]["position"]):
                rows[table].append(row)
            rows[tables.document] += [self._note(entry) for entry in own]
        for table, of_table in rows.items():
            connection.execute(insert(table), of_table)

    def _note(self, entry: Mapping) -> dict:
        return {
            "location_id": self.location_id,
            "kind": "note",
            "doc_id": entry["event_id"],
            "feed": documents.HOUSE,
            "position": entry["position"],
            "body": f'{{"version":{entry["position"]},"text":"Dry field throughout."}}',
        }

    def _count_on(self, cases: int) -> None:
        """Let the tablet that is said to have written all this go on after it."""
        with write(self.engine) as connection:
            connection.execute(
                update(tables.tablet)
                .where(tables.tablet.c.tablet_id == self._writer.identity["tablet_id"])
                .values(next_seq=(cases + 1) * EVENTS_A_CASE + 1)
            )


class _First:
    """The case that others are copies of: its events on the wire, its record, its other rows."""

    def __init__(self, connection: Connection, tablet: TabletClient, record_id: str) -> None:
        self.record_id = record_id
        self.items = [event.item for event in tablet.outbox]
        self.parsed = [json.loads(item["body"]) for item in self.items]
        self.tablet_id = tablet.identity["tablet_id"]
        self.document = self._rows(connection, tables.document, "doc_id", record_id)[0]
        self.beside = {
            table: self._rows(connection, table, column, record_id)
            for table, column in _BESIDE.items()
        }

    def _rows(self, connection: Connection, table: Table, column: str, record_id: str):
        found = connection.execute(select(table).where(table.c[column] == record_id)).mappings()
        # Numbers that the database gives are given anew.
        return [
            {name: value for name, value in row.items() if name not in ("job_id", "access_id")}
            for row in found
        ]


class _Copy:
    """One more case: everything of the first one, under other ids."""

    def __init__(self, first: _First, number: int, record_id: str) -> None:
        self._first = first
        self._number = number
        self._chart = f"C-{number}"
        # Ids that begin with the moment lie side by side in an index, as those of one case do.
        self._ids = {first.record_id: record_id} | {
            item["event_id"]: f"{record_id[:-4]}{turn:04x}" for turn, item in enumerate(first.items)
        }

    def entries(self) -> Iterator[event_store.NewEntry]:
        """Yield its events as they go into the log."""
        for turn, (item, parsed) in enumerate(
            zip(self._first.items, self._first.parsed, strict=True)
        ):
            seq = self._number * EVENTS_A_CASE + turn + 1
            salt = bytes.fromhex(item["salt"])
            payload, said = item["payload"], parsed["payload_hash"]
            if turn == 0:
                payload = payload.replace(f'"{_OF_FIRST}"', f'"{self._chart}"')
                said = chain.payload_hash(salt=salt, payload=payload)
            body = (
                self._renamed(item["body"])
                .replace(f'"tablet_seq":{item["tablet_seq"]},', f'"tablet_seq":{seq},')
                .replace(parsed["payload_hash"], said)
            )
            yield event_store.NewEntry(
                event_id=self._ids[item["event_id"]],
                tablet_id=self._first.tablet_id,
                tablet_seq=seq,
                body=body,
                payload=payload,
                salt=salt,
                signature=item["signature"],
                verdict="applied",
                reason=None,
                parsed_body={**parsed, "entity_id": self._ids[self._first.record_id]},
                parsed_payload=None,
            )

    def rows(self, position: int) -> Iterator[tuple[Table, dict]]:
        """Yield what it leaves in other tables, its last entry being at ``position``."""
        record_id = self._ids[self._first.record_id]
        row = self._first.document
        body = self._renamed(row["body"]).replace(f'"{_OF_FIRST}"', f'"{self._chart}"')
        yield (
            tables.document,
            {**row, "doc_id": record_id, "position": position, "body": body},
        )
        for table, rows in self._first.beside.items():
            for row in rows:
                changed = {**row, _BESIDE[table]: record_id}
                if table is tables.record_index:
                    words = row["words"].replace(_OF_FIRST.lower(), self._chart.lower())
                    changed |= {
                        "position": position,
                        "chart_number": self._chart,
                        "words": words,
                    }
                if table is tables.job:
                    # Long since done, as on a server that runs.
                    changed |= {"state": "done", "done_at": row["due_at"]}
                yield table, changed

    def _renamed(self, text: str) -> str:
        for old, new in self._ids.items():
            text = text.replace(old, new)
        return text
