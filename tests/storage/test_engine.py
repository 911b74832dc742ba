"""Reading sees one moment; writing is all or nothing, one at a time."""

import threading

import pytest

from api.storage import documents
from api.storage.engine import read, savepoint, write


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


def test_writers_do_not_lose_each_others_changes(engine):
    with write(engine) as connection:
        put(connection, "a", n=0)

    def count():
        for _ in range(20):
            with write(engine) as connection:
                put(connection, "a", n=ids(connection)[0] + 1)

    threads = [threading.Thread(target=count) for _ in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    with read(engine) as connection:
        assert ids(connection) == [120]
