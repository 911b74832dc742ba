"""A reader with a cursor sees every committed event once, whatever the writers do meanwhile."""

import itertools
import random
import sqlite3
import threading
import time

import pytest

from api.storage import engine as engine_module
from api.storage import sqlite
from api.storage.engine import is_postgresql, write
from api.sync import desk
from api.sync.pull import pull
from tests.sync.world import PROJECTORS, ZONE

WRITERS = 8
EVENTS_EACH = 15
LONGEST_TRANSACTION_S = 0.010
ROLLBACK_SHARE = 0.05
SEED = 20260302


class Undo(Exception):
    """A writer's transaction that comes to nothing."""


def run_feed(write_one, read_after):
    """Run 8 writers and a reader; return (missed, doubled, rolled back).

    ``write_one(name, pause, undo)`` commits an event called ``name`` after ``pause`` seconds, or
    raises Undo; ``read_after(cursor)`` returns (names, next cursor).
    """
    committed, seen, undone = [], [], []
    running = threading.Event()
    running.set()
    failures = []

    def writer(number):
        chance = random.Random(SEED + number)
        try:
            for index in range(EVENTS_EACH):
                name = f"w{number}-{index}"
                pause = chance.uniform(0, LONGEST_TRANSACTION_S)
                try:
                    write_one(name, pause, chance.random() < ROLLBACK_SHARE)
                    committed.append(name)
                except Undo:
                    undone.append(name)
        except BaseException as problem:
            failures.append(problem)

    def reader():
        cursor = None
        try:
            while True:
                last_round = not running.is_set()
                names, cursor = read_after(cursor)
                seen.extend(names)
                if last_round and not names:
                    return
                time.sleep(0)
        except BaseException as problem:
            failures.append(problem)

    threads = [threading.Thread(target=writer, args=(n,)) for n in range(WRITERS)]
    watching = threading.Thread(target=reader)
    for thread in [watching, *threads]:
        thread.start()
    for thread in threads:
        thread.join()
    running.clear()
    watching.join()
    if failures:
        raise failures[0]
    assert len(committed) + len(undone) == WRITERS * EVENTS_EACH
    missed = set(committed) - set(seen)
    assert set(seen) <= set(committed)
    return len(missed), len(seen) - len(set(seen)), len(undone)


@pytest.mark.both_databases
@pytest.mark.parametrize("lock", ["process and database", "database alone"])
def test_nothing_is_missed_and_nothing_doubled(world, monkeypatch, lock):
    if lock == "database alone":
        if is_postgresql(world.engine):
            pytest.skip("there is no other lock on PostgreSQL")
        # As if every writer were a process of its own.
        monkeypatch.setattr(engine_module, "_lock_of", lambda _engine: threading.Lock())
        # SQLite lets whoever comes by next go first; how long the others wait is not asked here.
        monkeypatch.setattr(sqlite, "BUSY_TIMEOUT_MS", 120_000)
        world.restart()

    def write_one(name, pause, undo):
        with write(world.engine) as connection:
            desk.append_in(
                connection,
                world.clock,
                world.server_key,
                location_id=world.location_id,
                actor_id=world.actor_id,
                type="procedure.noted",
                entity_id=name,
                payload={"text": name},
                projectors=PROJECTORS,
                zone=ZONE,
            )
            time.sleep(pause)
            if undo:
                raise Undo

    entry_positions, entry_cursor = [], None

    def read_after(cursor):
        nonlocal entry_cursor
        fields = {"tablet_or_location": world.location_id, "include_records": True, "limit": 7}
        got = pull(
            world.engine,
            world.clock,
            world.server_key,
            cursor=cursor,
            feed="records",
            **fields,
        )
        house = pull(world.engine, world.clock, world.server_key, cursor=entry_cursor, **fields)
        entry_positions.extend(each["position"] for each in house["entries"])
        entry_cursor = house["next_cursor"]
        return [each["doc_id"] for each in got["documents"]], got["next_cursor"]

    missed, doubled, undone = run_feed(write_one, read_after)
    assert (missed, doubled) == (0, 0)
    assert undone > 0
    assert entry_positions == list(range(1, len(entry_positions) + 1))


def test_the_same_run_catches_a_cursor_over_a_serial_number(tmp_path):
    """The known-bad one: the number is drawn when the writer begins, not when it commits."""
    path = tmp_path / "serial.sqlite3"
    with sqlite3.connect(path) as made:
        made.execute("PRAGMA journal_mode = WAL")
        made.execute("CREATE TABLE feed (serial INTEGER PRIMARY KEY, name TEXT)")
    serial = itertools.count(1)

    def write_one(name, pause, undo):
        number = next(serial)
        time.sleep(pause)
        connection = sqlite3.connect(path, timeout=5)
        try:
            connection.execute("INSERT INTO feed VALUES (?, ?)", (number, name))
            if undo:
                raise Undo
            connection.commit()
        finally:
            connection.close()

    def read_after(cursor):
        connection = sqlite3.connect(path)
        rows = connection.execute(
            "SELECT serial, name FROM feed WHERE serial > ? ORDER BY serial", (cursor or 0,)
        ).fetchall()
        connection.close()
        return [name for _, name in rows], rows[-1][0] if rows else cursor

    missed, _, _ = run_feed(write_one, read_after)
    assert missed > 0
