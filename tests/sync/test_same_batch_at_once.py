"""The same batch sent six times at once has one effect."""

import sqlite3
import threading
import time
from collections import Counter

import pytest

from api.storage import engine as engine_module
from api.storage import sqlite
from api.storage.engine import is_postgresql

BATCHES = 40
SENDS = 6


def send_at_once(send, batches):
    """Send each batch six times at once; return the answers to each."""
    answers = [[] for _ in batches]
    failures = []
    gate = threading.Barrier(SENDS)

    def sender():
        try:
            for index, batch in enumerate(batches):
                gate.wait(timeout=30)
                answers[index].append(send(batch))
        except BaseException as problem:
            failures.append(problem)
            gate.abort()

    threads = [threading.Thread(target=sender) for _ in range(SENDS)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    if failures:
        raise failures[0]
    return answers


@pytest.mark.both_databases
@pytest.mark.parametrize("lock", ["process and database", "database alone"])
def test_forty_batches_have_forty_effects(world, monkeypatch, lock):
    if lock == "database alone":
        if is_postgresql(world.engine):
            pytest.skip("there is no other lock on PostgreSQL")
        monkeypatch.setattr(engine_module, "_lock_of", lambda _engine: threading.Lock())
        # SQLite lets whoever comes by next go first; how long the others wait is not asked here.
        monkeypatch.setattr(sqlite, "BUSY_TIMEOUT_MS", 120_000)
        world.restart()
    tablet = world.tablet()
    batches = [[tablet.make(), tablet.make()] for _ in range(BATCHES)]
    answers = send_at_once(lambda batch: tablet.push(*batch), batches)
    for sent in answers:
        outcomes = Counter(result["outcome"] for results in sent for result in results)
        assert outcomes == {"applied": 2, "duplicate": 2 * (SENDS - 1)}
        assert len({tuple(r["position"] for r in results) for results in sent}) == 1
    texts = world.notes()
    assert texts == [f"note {number}" for number in range(1, 2 * BATCHES + 1)]


def test_the_same_run_catches_check_then_insert(tmp_path):
    """The known-bad one: it looks whether the event is there, and then puts it in."""
    path = tmp_path / "naive.sqlite3"
    with sqlite3.connect(path) as made:
        made.execute("PRAGMA journal_mode = WAL")
        made.execute("CREATE TABLE effect (event_id TEXT)")

    def send(event_id):
        connection = sqlite3.connect(path, timeout=5)
        try:
            there = connection.execute(
                "SELECT 1 FROM effect WHERE event_id = ?", (event_id,)
            ).fetchone()
            # As long as a disk takes: in memory both statements may pass before anybody else comes.
            time.sleep(0.01)
            if there is None:
                connection.execute("INSERT INTO effect VALUES (?)", (event_id,))
                connection.commit()
        finally:
            connection.close()

    send_at_once(send, [f"event {number}" for number in range(BATCHES)])
    with sqlite3.connect(path) as made:
        effects = made.execute("SELECT count(*) FROM effect").fetchone()[0]
    assert effects > BATCHES
