"""Commands of desks: one key, one event, signed by the server."""

import json
from concurrent.futures import ThreadPoolExecutor

import pytest

from api.errors import BadInput, Conflict, NotAllowed, NotFound
from api.events import signing
from api.storage import accounts, readers
from api.storage.engine import read
from api.sync import server_key
from tests.sync.test_push import log, published

pytestmark = pytest.mark.both_databases


def test_a_command_becomes_an_event_of_the_desk_writer(world):
    answer = world.append_as_desk("key-1")
    entry = log(world)[-1]
    assert answer == {"event_id": entry["event_id"], "position": 2}
    body = json.loads(entry["body"])
    assert body["occurred_at"] == "2026-03-02T10:00:00.000+01:00"
    with read(world.engine) as connection:
        desk = accounts.desk_writer(connection, world.location_id)
    assert (body["tablet_id"], body["tablet_seq"]) == (desk["tablet_id"], 2)
    assert desk["next_seq"] == 3
    key = signing.public_key_text(world.server_key)
    assert signing.verify(key, entry["body"], entry["signature"])


def test_one_key_sent_by_many_at_once_has_one_effect(world):
    with ThreadPoolExecutor(6) as pool:
        answers = list(pool.map(lambda _: world.append_as_desk("key-1"), range(12)))
    assert len({answer["event_id"] for answer in answers}) == 1
    assert len(world.notes()) == 1


def test_a_key_is_not_taken_for_another_command(world):
    world.append_as_desk("key-1")
    with pytest.raises(Conflict) as raised:
        world.append_as_desk("key-1", payload={"text": "something else"})
    assert raised.value.code == "idempotency_key_reused"
    assert len(world.notes()) == 1


def test_a_refused_command_leaves_nothing_and_its_key_stays_free(world):
    with pytest.raises(NotAllowed) as raised:
        world.append_as_desk("key-1", authorise=lambda *_: "role_missing")
    assert raised.value.code == "role_missing"
    with pytest.raises(BadInput) as raised:
        world.append_as_desk("key-1", payload={"words": "no text"})
    assert "text" in raised.value.errors
    with pytest.raises(BadInput):
        world.append_as_desk("key-1", type="laser.dreamt")
    with pytest.raises(BadInput):
        world.append_as_desk("key-1", zone="Nowhere/Land")
    with pytest.raises(NotFound):
        world.append_as_desk("key-1", location_id="elsewhere")
    with pytest.raises(KeyError):
        world.append_as_desk(
            "key-1", type="record.placed_in_chart", payload={"how": "pdf", "note": None}
        )
    assert len(log(world)) == 1
    assert world.append_as_desk("key-1")["position"] == 2


def test_a_desk_is_told_when_another_version_came_first(world):
    list_id = world.new_id()

    def publish(key, version, base):
        return world.append_as_desk(
            key,
            type="list.published",
            entity_id=list_id,
            payload=published(version),
            base_version=base,
        )

    publish("key-1", 1, None)
    publish("key-2", 2, 1)
    with pytest.raises(Conflict) as raised:
        publish("key-3", 2, 1)
    assert (raised.value.code, raised.value.facts["current"]) == ("version_not_current", 2)
    with read(world.engine) as connection:
        assert len(readers.entity_entries(connection, world.location_id, list_id)) == 2


def test_the_server_key_is_made_once_and_kept_private(tmp_path):
    path = tmp_path / "keys" / "server.pem"
    with ThreadPoolExecutor(4) as pool:
        keys = list(pool.map(lambda _: server_key.load_or_create(path), range(8)))
    assert len({signing.public_key_text(key) for key in keys}) == 1
    assert path.stat().st_mode & 0o777 == 0o600
    assert [each.name for each in path.parent.iterdir()] == ["server.pem"]
    path.write_text("not a key")
    with pytest.raises(BadInput):
        server_key.load_or_create(path)
