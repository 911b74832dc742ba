"""A log with one signed record in it, put there and projected without any server."""

from datetime import UTC, datetime

from api.clock import SteppedClock, rfc3339
from api.demo.tablet_client import Event, TabletClient
from api.migrations.run import upgrade
from api.records.entries_course import OPENING_FIELDS
from api.records.order import content_hash
from api.records.project import project
from api.storage import documents, event_store
from api.storage.engine import Engine, open_engine, write
from tests.handover.sample import NAMES, OPERATOR, PASS, sample

LOCATION = "019ab000-0000-7000-8000-00000000010c"
START = datetime(2026, 11, 18, 14, 0, tzinfo=UTC)
DERIVED = {
    *("started_at", "ended_at", "laser_on", "laser_on_s", "sources", "dose"),
    *("total_energy_j", "event_id"),
}


class SignedLog:
    """A location with two people, a tablet that talks to nobody, and a signed record."""

    def __init__(self, folder) -> None:
        url = f"sqlite:///{folder / 'log.sqlite3'}"
        upgrade(url)
        self.engine: Engine = open_engine(url)
        self.clock = SteppedClock(START)
        self.tablet = TabletClient(_nobody, self.clock, label="test", engine_version="1.0.0")
        self.tablet.identity = {
            "tablet_id": "019ab000-0000-7000-8000-0000000000f1",
            "location_id": LOCATION,
            "zone": "America/New_York",
        }
        self.tablet.person = {"person_id": OPERATOR}
        self.record_id = self.tablet.new_id()
        with write(self.engine) as connection:
            event_store.open_location(connection, LOCATION, epoch="e", now=START)
            place = {
                "name": "Upper Street",
                "practice_name": "Sample Dental",
                "zone": "America/New_York",
            }
            documents.put(connection, LOCATION, "location", LOCATION, place, position=0)
            for person_id, person in NAMES.items():
                body = {"person_id": person_id, **person}
                documents.put(connection, LOCATION, "person", person_id, body, position=0)
        self._play()

    def _play(self) -> None:
        record = sample()
        self.append("procedure.opened", {name: record[name] for name in OPENING_FIELDS})
        self.append(
            "pass.started",
            {name: value for name, value in PASS.items() if name not in DERIVED},
        )
        emitted = {"pass_id": PASS["pass_id"], "laser_on_time": "42 s", "source": "timer"}
        self.append("laser.emitted", emitted)
        self.append(
            "procedure.ended",
            {"outcome": record["outcome"], "ended_at": rfc3339(self.clock.now())},
        )
        self.append(
            "record.signed",
            {
                "signer_id": OPERATOR,
                "role": "clinician",
                "content_hash": content_hash(self.tablet.events_of(self.record_id)),
                "statement": "Done by me.",
            },
        )

    def append(self, type: str, payload: dict) -> Event:
        """Make one event of the record and put it into the log."""
        self.clock.advance(60)
        event = self.tablet.record(type, self.record_id, payload)
        folded = event.for_fold()
        entry = event_store.NewEntry(
            event_id=event.item["event_id"],
            tablet_id=folded["body"]["tablet_id"],
            tablet_seq=event.item["tablet_seq"],
            body=event.item["body"],
            payload=event.item["payload"],
            salt=bytes.fromhex(event.item["salt"]),
            signature=event.item["signature"],
            verdict="applied",
            reason=None,
            parsed_body=folded["body"],
            parsed_payload=folded["payload"],
        )
        with write(self.engine) as connection:
            event_store.append(
                connection, LOCATION, [entry], received_at=self.clock.now(), project=_project
            )
        return event


def _project(connection, entries):
    for entry in entries:
        project(connection, entry)


def _nobody(method, path, json, headers):
    raise AssertionError("this tablet must not talk to a server")
