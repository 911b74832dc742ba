"""Reading sees one moment; writing is all or nothing, one at a time."""

import threading
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime

import pytest

from api.storage import documents, event_store, tables
from api.storage.engine import (
    EVERYWHERE,
    IntegrityError,
    again,
    open_engine,
    read,
    savepoint,
    write,
)
from api.storage.rows import insert_all

pytestmark = pytest.mark.both_databases


def put(connection, doc_id, **body):
    documents.put(connection, "l", "list", doc_id, body, position=1)


def ids(connection):
    return [body["n"] for body in documents.list(connection, "l", "list")]


def test_a_failed_write_leaves_nothing(engine):
    with pytest.raises(KeyError), write(engine) as connection:
        put(connection, "a", n=1)
        raise KeyError
    with read(engine) as connection:
        assert ids(connection) == []


def test_a_savepoint_undoes_only_itself(engine):
    with write(engine) as connection:
        put(connection, "a", n=1)
        with pytest.raises(KeyError), savepoint(connection):
            put(connection, "b", n=2)
            raise KeyError
        put(connection, "c", n=3)
    with read(engine) as connection:
        assert ids(connection) == [1, 3]


def test_a_reader_sees_one_moment_while_others_write(engine):
    with read(engine) as connection:
        assert ids(connection) == []
        with write(engine) as writing:
            put(writing, "a", n=1)
        assert ids(connection) == []
    with read(engine) as connection:
        assert ids(connection) == [1]


def opened(engine):
    """Open the location and put a document there that counts."""
    with write(engine) as connection:
        event_store.open_location(connection, "l", epoch="e", now=datetime.now(UTC))
        put(connection, "a", n=0)


def test_writers_do_not_lose_each_others_changes(engine):
    opened(engine)

    def count():
        for _ in range(20):
            with write(engine) as connection:
                event_store.lock_log(connection, "l")
                put(connection, "a", n=ids(connection)[0] + 1)

    threads = [threading.Thread(target=count) for _ in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    with read(engine) as connection:
        assert ids(connection) == [120]


def test_writers_that_do_not_lock_before_they_look_lose_some(postgresql_server):
    """The known-bad one: on PostgreSQL writers run side by side, and the second one wins."""
    engine = open_engine(postgresql_server.url(postgresql_server.emptied()), reach=EVERYWHERE)
    opened(engine)
    with write(engine) as one:
        seen_by_one = ids(one)[0]
        with write(engine) as other:
            put(other, "a", n=ids(other)[0] + 1)
        put(one, "a", n=seen_by_one + 1)
    with read(engine) as connection:
        assert ids(connection) == [1]
    engine.dispose()


class Tangled:
    """Work that takes two rows, and whose first attempt is made to wait in a ring."""

    def __init__(self, engine):
        self.engine = engine
        self.gate = threading.Barrier(2)
        self.tries = []

    def take(self, first, second):
        mine = []

        def work(connection):
            mine.append(first)
            put(connection, first, n=len(mine))
            if len(mine) == 1:
                self.gate.wait(timeout=30)
            put(connection, second, n=len(mine))

        again(self.engine, work)
        self.tries.append(len(mine))


def test_work_that_had_to_give_way_is_done_again(postgresql_server):
    engine = open_engine(postgresql_server.url(postgresql_server.emptied()), reach=EVERYWHERE)
    opened(engine)
    with write(engine) as connection:
        put(connection, "b", n=0)
    tangled = Tangled(engine)
    with ThreadPoolExecutor(2) as pool:
        for done in [pool.submit(tangled.take, "a", "b"), pool.submit(tangled.take, "b", "a")]:
            done.result()
    # PostgreSQL ends one of the two; the other never notices.
    assert sorted(tangled.tries) == [1, 2]
    engine.dispose()


def test_a_connection_that_the_server_ended_is_not_handed_out_again(postgresql_server):
    name = postgresql_server.emptied()
    engine = open_engine(postgresql_server.url(name), reach=EVERYWHERE)

    def served_by():
        with read(engine) as connection:
            assert ids(connection) == []
            return connection.connection.dbapi_connection.info.backend_pid

    ours = served_by()
    # Else what follows would show nothing.
    assert served_by() == ours
    [(ended,)] = postgresql_server.run(f"SELECT pg_terminate_backend({ours}, 5000)")
    assert ended
    assert served_by() != ours
    engine.dispose()


def test_what_is_not_waited_for_is_all_or_nothing_too(engine):
    """The rows of a document go unwaited; the second insert of an entry's key is refused late."""
    opened(engine)
    with write(engine, unwaited=True) as connection:
        put(connection, "b", n=1)
        put(connection, "c", n=2)
    with pytest.raises(IntegrityError), write(engine, unwaited=True) as connection:
        put(connection, "d", n=3)
        insert_all(connection, tables.location, [row_of("l")])
    with pytest.raises(IntegrityError), write(engine, unwaited=True) as connection:
        put(connection, "e", n=4)
        insert_all(connection, tables.location, [row_of("l")])
        # Heard of here at the latest, and the rest is not carried out.
        assert ids(connection) == [0, 1, 2, 4]
    with pytest.raises(KeyError), write(engine, unwaited=True) as connection:
        put(connection, "f", n=5)
        raise KeyError
    with write(engine, unwaited=True) as connection:
        with pytest.raises(IntegrityError), savepoint(connection):
            insert_all(connection, tables.location, [row_of("l")])
        put(connection, "g", n=6)
    with read(engine) as connection:
        assert ids(connection) == [0, 1, 2, 6]


def row_of(location_id):
    return {
        "location_id": location_id,
        "epoch": "e",
        "position": 0,
        "link": b"",
        "opened_at": "2026-11-25T09:00:00.000+00:00",
    }
