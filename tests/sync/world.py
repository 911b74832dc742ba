"""A location with tablets on a migrated file, for the tests of the log."""

import functools
import itertools
import random as random_module
import tempfile
from datetime import UTC, datetime, timedelta
from pathlib import Path

from api.clock import SteppedClock
from api.events import build, signing
from api.ids import new_id
from api.migrations import run
from api.storage import accounts, documents
from api.storage.engine import open_engine, read, write
from api.sync import desk, push

START = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
ZONE = "Europe/Berlin"
LOCATION = {"name": "Room house", "practice_name": "Practice A", "zone": ZONE, "rooms": []}


def project_document(connection, entry):
    """A projector with an effect that can be counted: each note adds one to its record."""
    location_id, record_id = entry["location_id"], entry["body"]["entity_id"]
    known = documents.get(connection, location_id, "record", record_id) or {"notes": []}
    known["notes"].append(entry["payload"].get("text"))
    documents.put(
        connection,
        location_id,
        "record",
        record_id,
        known,
        position=entry["position"],
        feed=documents.RECORDS,
    )


def project_version(connection, entry):
    """A projector of lists: the version in force, or a draft when another came first."""
    if entry["verdict"] == "conflict":
        return
    documents.put(
        connection,
        entry["location_id"],
        "list",
        entry["body"]["entity_id"],
        {"version": entry["payload"]["version"], "title": entry["payload"]["title"]},
        position=entry["position"],
    )


def project_broken(_connection, _entry):
    """A projector with a bug in it."""
    raise KeyError("bug")


PROJECTORS = {
    "procedure.noted": project_document,
    "list.published": project_version,
    "record.placed_in_chart": project_broken,
}


@functools.cache
def migrated_file():
    """Return an empty database file as the migrations make it."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "empty.sqlite3"
        run.upgrade(f"sqlite:///{path}")
        return path.read_bytes()


class Writer:
    """The least a tablet is: a key, a number, and the texts made once."""

    def __init__(self, world, tablet_id, key):
        self.world, self.tablet_id, self.key = world, tablet_id, key
        self.seq = 0

    def make(self, type="procedure.noted", *, entity_id=None, payload=None, **more):
        self.seq += 1
        return self.make_at(self.seq, type, entity_id=entity_id, payload=payload, **more)

    def make_at(self, seq, type="procedure.noted", *, entity_id=None, payload=None, **more):
        world = self.world
        fields = {
            "event_id": world.new_id(),
            "tablet_id": self.tablet_id,
            "tablet_seq": seq,
            "location_id": world.location_id,
            "actor_id": world.actor_id,
            "type": type,
            "entity_id": entity_id or world.record_id,
            "payload": {"text": f"note {seq}"} if payload is None else payload,
            "occurred_at": world.clock.now(),
            "zone": ZONE,
            "app_build": "test",
            "engine_version": "1.0.0",
            "random": world.random,
        }
        return build.build_item(self.key, **{**fields, **more})

    def sign(self, item, **texts):
        """Return ``item`` with other texts, rightly signed: a tablet whose program is wrong."""
        changed = {**item, **texts}
        return {**changed, "signature": signing.sign(self.key, changed["body"])}

    def request(self, *items):
        return {"protocol": 1, "epoch": self.world.epoch, "items": list(items)}

    def row(self):
        """Return what the server knows of it, as it reads that for each of its requests."""
        with read(self.world.engine) as connection:
            return accounts.tablet_by_id(connection, self.tablet_id)

    def push(self, *items, **more):
        world = self.world
        return push.push(
            world.engine,
            world.clock,
            tablet={"tablet_id": self.tablet_id},
            request=self.request(*items),
            projectors=more.pop("projectors", PROJECTORS),
            **more,
        )["results"]


class World:
    """One location, its clock, its chance."""

    def __init__(
        self, folder: Path, seed: int = 20260302, *, database_url: str | None = None
    ) -> None:
        if database_url is None:
            path = folder / "log.sqlite3"
            path.write_bytes(migrated_file())
            database_url = f"sqlite:///{path}"
        self.database_url = database_url
        self.clock = SteppedClock(START)
        self.chance = random_module.Random(seed)
        self.random = self.chance.randbytes
        self.server_key = signing.new_private_key()
        self.actor_id, self.record_id = self.new_id(), self.new_id()
        self.location_id = self.new_id()
        self.engine = self.open_engine()
        opened = desk.open_location(
            self.engine,
            self.clock,
            self.server_key,
            payload=LOCATION,
            projectors=PROJECTORS,
            location_id=self.location_id,
            random=self.random,
        )
        self.epoch = opened["epoch"]
        self.numbers = itertools.count(1)

    def new_id(self):
        return new_id(self.clock.now(), self.random)

    def tablet(self):
        key, tablet_id = signing.new_private_key(), self.new_id()
        with write(self.engine) as connection:
            accounts.add_tablet(
                connection,
                self.location_id,
                tablet_id,
                kind=accounts.TABLET,
                label=f"tablet {next(self.numbers)}",
                public_key=signing.public_key_text(key),
                certificate=None,
                now=self.clock.now(),
            )
        return Writer(self, tablet_id, key)

    def append_as_desk(self, key, *, payload=None, type="procedure.noted", **more):
        fields = {
            "location_id": self.location_id,
            "actor_id": self.actor_id,
            "type": type,
            "entity_id": self.record_id,
            "payload": payload or {"text": "from a desk"},
            "idempotency_key": key,
            "projectors": PROJECTORS,
            "zone": ZONE,
            "random": self.random,
        }
        return desk.append_as_desk(self.engine, self.clock, self.server_key, **{**fields, **more})

    def revoke(self, writer):
        with write(self.engine) as connection:
            accounts.revoke_tablet(connection, self.location_id, writer.tablet_id, self.clock.now())

    def notes(self, record_id=None):
        with read(self.engine) as connection:
            document = documents.get(
                connection, self.location_id, "record", record_id or self.record_id
            )
        return document["notes"] if document else []

    def later(self, **delta):
        self.clock.advance(timedelta(**delta).total_seconds())

    def restart(self):
        """Let go of the database and open it again, as a server that starts anew does."""
        self.engine.dispose()
        self.engine = self.open_engine()

    def open_engine(self):
        """Open the database with this location in reach and no other."""
        return open_engine(self.database_url, reach=(self.location_id,))

    def close(self):
        self.engine.dispose()
