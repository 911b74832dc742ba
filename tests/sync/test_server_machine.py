"""Whatever happens between three tablets and the server, each saved event is there once."""

import json
import os
import shutil
import tempfile
from pathlib import Path

import pytest
from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    rule,
    run_state_machine_as_test,
)

from api.audit.verify import verify_log
from api.storage import readers
from api.storage.engine import read
from tests.sync.world import PROJECTORS, World

# `bash deploy/check long` plays as many as the design of the log asks for.
LONG = os.environ.get("DOSEBOOK_LONG") == "1"
BOUNDED = settings(
    max_examples=5_000 if LONG else 40,
    stateful_step_count=100 if LONG else 25,
    deadline=None,
    derandomize=True,
    suppress_health_check=list(HealthCheck),
)
# Emptying a database costs more there than what is played on it. Fewer than ten may miss the
# known-bad tablet.
ON_POSTGRESQL = 200 if LONG else 15
TABLETS = st.integers(0, 2)


class Killed(BaseException):
    """The server dies in the middle of a transaction."""


class Client:
    """A tablet's outbox: an event leaves it on its own result only."""

    def __init__(self, writer):
        self.writer = writer
        self.saved, self.waiting = [], []

    def save(self, **more):
        item = self.writer.make(**more)
        self.saved.append(item)
        self.waiting.append(item)

    def batch(self, count):
        return self.waiting[:count]

    def settle(self, results):
        settled = {
            each["event_id"]
            for each in results
            if each["outcome"] in ("applied", "duplicate", "conflict", "quarantined")
        }
        self.waiting = [each for each in self.waiting if each["event_id"] not in settled]


class Machine(RuleBasedStateMachine):
    client = Client
    # What makes an empty database and returns its URL; None is a file of its own.
    new_database = None

    def __init__(self):
        super().__init__()
        self.folder = Path(tempfile.mkdtemp())
        url = None if self.new_database is None else type(self).new_database()
        self.world = World(self.folder, database_url=url)
        self.clients = [self.client(self.world.tablet()) for _ in range(3)]

    @initialize(counts=st.tuples(*[st.integers(0, 5)] * 3))
    def begin(self, counts):
        # Of a few steps many runs leave the writing out, and then there is nothing to lose.
        for client, count in zip(self.clients, counts, strict=True):
            for _ in range(count):
                client.save()

    @rule(which=TABLETS, record=st.integers(0, 2), again=st.booleans())
    def write(self, which, record, again):
        client = self.clients[which]
        # A correction names an event saved before.
        corrects = client.saved[-1]["event_id"] if again and client.saved else None
        client.save(entity_id=f"record-{record}", corrects=corrects)

    @rule(which=TABLETS, count=st.integers(1, 5))
    def sync(self, which, count):
        client = self.clients[which]
        client.settle(client.writer.push(*client.batch(count)))

    @rule(which=TABLETS, count=st.integers(1, 5))
    def lose_the_reply(self, which, count):
        client = self.clients[which]
        client.writer.push(*client.batch(count))

    @rule(which=TABLETS, order=st.randoms(use_true_random=False))
    def send_out_of_order(self, which, order):
        client = self.clients[which]
        items = client.batch(5)
        order.shuffle(items)
        client.settle(client.writer.push(*items))

    @rule(which=TABLETS)
    def send_what_is_settled_again(self, which):
        client = self.clients[which]
        settled = client.saved[: len(client.saved) - len(client.waiting)][-5:]
        results = client.writer.push(*settled)
        assert {each["outcome"] for each in results} <= {"duplicate"}

    @rule(which=TABLETS, at=st.integers(0, 4))
    def die_while_projecting(self, which, at):
        client, seen = self.clients[which], []

        def project(connection, entry):
            PROJECTORS["procedure.noted"](connection, entry)
            seen.append(entry)
            if len(seen) > at:
                raise Killed

        try:
            results = client.writer.push(*client.batch(5), projectors={"procedure.noted": project})
        except Killed:
            self.world.restart()
        else:
            client.settle(results)

    @rule()
    def restart(self):
        self.world.restart()

    @rule(hours=st.integers(-30, 30))
    def set_the_clock(self, hours):
        self.world.later(hours=hours)

    @rule()
    def change_person(self):
        self.world.actor_id = self.world.new_id()

    def teardown(self):
        try:
            self.check()
        finally:
            self.world.close()
            shutil.rmtree(self.folder)

    def check(self):
        for client in self.clients:
            while client.waiting:
                before = len(client.waiting)
                client.settle(client.writer.push(*client.batch(50)))
                assert len(client.waiting) < before
        with read(self.world.engine) as connection:
            stored = readers.stored_after(connection, self.world.location_id, 1, limit=10_000)
        there = {row["event_id"]: (row["body"], row["payload"]) for row in stored}
        saved = [item for client in self.clients for item in client.saved]
        assert len(stored) == len(there)
        assert there == {item["event_id"]: (item["body"], item["payload"]) for item in saved}
        assert {row["verdict"] for row in stored} <= {"applied"}
        for record_id in {json.loads(item["body"])["entity_id"] for item in saved}:
            effects = [
                json.loads(row["payload"])["text"]
                for row in stored
                if row["entity_id"] == record_id
            ]
            assert self.world.notes(record_id) == effects
        assert verify_log(self.world.engine)["first_bad"] is None


def test_saved_is_on_the_server_exactly_once():
    run_state_machine_as_test(Machine, settings=BOUNDED)


def on_postgresql(machine, server):
    """Return the same machine, played on a database of this server, emptied each time."""

    class OnPostgresql(machine):
        @staticmethod
        def new_database():
            return server.url(server.emptied())

    return OnPostgresql


def test_saved_is_on_postgresql_exactly_once(postgresql_server):
    machine = on_postgresql(Machine, postgresql_server)
    run_state_machine_as_test(machine, settings=settings(BOUNDED, max_examples=ON_POSTGRESQL))


class ForgetfulClient(Client):
    """Lets go of what it has sent, before it knows what became of it."""

    def batch(self, count):
        items = super().batch(count)
        self.waiting = self.waiting[count:]
        return items


class BadMachine(Machine):
    client = ForgetfulClient


# Found is enough here; looking for the shortest way to it would take a minute.
ONLY_FOUND = settings(BOUNDED, phases=[Phase.generate], print_blob=False)


def test_the_same_machine_catches_a_tablet_that_forgets_too_early():
    with pytest.raises((AssertionError, BaseExceptionGroup)):
        run_state_machine_as_test(BadMachine, settings=ONLY_FOUND)


def test_as_few_on_postgresql_catch_that_tablet_too(postgresql_server):
    machine = on_postgresql(BadMachine, postgresql_server)
    with pytest.raises((AssertionError, BaseExceptionGroup)):
        run_state_machine_as_test(
            machine, settings=settings(ONLY_FOUND, max_examples=ON_POSTGRESQL)
        )
