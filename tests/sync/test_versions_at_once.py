"""Two that publish on top of the same version at once: one is in force, the other a conflict."""

import threading
from concurrent.futures import ThreadPoolExecutor

import pytest

from api.storage import event_store
from api.sync import judge
from tests.sync.test_push import published
from tests.sync.world import World

TABLETS = 4


def publish_at_once(world, *, authorise=judge.permit_all, tablets=TABLETS):
    """Let several tablets publish the first version of one list; return what came of each."""
    list_id = world.new_id()
    writers = [world.tablet() for _ in range(tablets)]
    items = [
        writer.make(
            "list.published",
            entity_id=list_id,
            payload=published(1),
        )
        for writer in writers
    ]
    with ThreadPoolExecutor(tablets) as pool:
        sent = [
            pool.submit(writer.push, item, authorise=authorise)
            for writer, item in zip(writers, items, strict=True)
        ]
        return sorted(one.result()[0]["outcome"] for one in sent)


@pytest.mark.both_databases
def test_one_of_several_first_versions_is_in_force(world):
    for _ in range(5):
        outcomes = publish_at_once(world)
        assert outcomes == ["applied", *["conflict"] * (TABLETS - 1)]


def test_a_server_that_does_not_lock_the_log_before_it_looks_has_two(
    postgresql_server, tmp_path, monkeypatch
):
    """The known-bad one; SQLite lets only one writer in and does not need the lock."""
    monkeypatch.setattr(event_store, "lock_log", lambda *_: None)
    gate = threading.Barrier(2)

    def both_look(*_):
        gate.wait(timeout=30)

    url = postgresql_server.url(postgresql_server.emptied())
    world = World(tmp_path, database_url=url)
    assert publish_at_once(world, authorise=both_look, tablets=2) == ["applied", "applied"]
    world.close()
