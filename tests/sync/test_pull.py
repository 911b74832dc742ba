"""Pull: pages, what a reader can check by itself, and what it is refused."""

import json

import pytest

from api.errors import BadInput, Conflict, NotAllowed
from api.events import chain, signing
from api.storage import documents
from api.storage.engine import write
from api.sync.pull import pull

pytestmark = pytest.mark.both_databases


def page(world, cursor=None, **more):
    fields = {"tablet_or_location": world.location_id, "cursor": cursor, **more}
    return pull(world.engine, world.clock, world.server_key, **fields)


def walk(previous, entries):
    """Compute the link as a tablet does."""
    link = bytes.fromhex(previous)
    for entry in entries:
        link = chain.link(
            previous=link,
            header_hash=bytes.fromhex(entry["header_hash"]),
            body_hash=bytes.fromhex(entry["body_hash"]),
        )
    return link.hex()


def test_a_reader_computes_the_signed_head_from_the_pages(world):
    tablet = world.tablet()
    for _ in range(3):
        tablet.push(*(tablet.make() for _ in range(4)))
    link, cursor, positions = "0" * 64, None, []
    while True:
        got = page(world, cursor, limit=5)
        assert got["previous_link"] == link
        link = walk(link, got["entries"])
        positions += [entry["position"] for entry in got["entries"]]
        cursor = got["next_cursor"]
        if not got["more"]:
            break
    assert positions == list(range(1, 14))
    head = json.loads(got["head"]["text"])
    assert (head["position"], head["link"]) == (13, link)
    assert (head["epoch"], head["location_id"]) == (world.epoch, world.location_id)
    key = signing.public_key_text(world.server_key)
    assert signing.verify(key, got["head"]["text"], got["head"]["signature"])
    again = page(world, cursor)
    assert (again["entries"], again["documents"], again["more"]) == ([], [], False)
    assert (again["next_cursor"], again["previous_link"]) == (cursor, link)


def test_records_are_shown_to_a_person_only(world):
    tablet = world.tablet()
    tablet.push(tablet.make())
    assert page(world)["documents"] == []
    with pytest.raises(NotAllowed) as raised:
        page(world, feed="records")
    assert raised.value.code == "person_needed"
    got = page(world, feed="records", include_records=True)
    assert [each["doc_id"] for each in got["documents"]] == [world.record_id]
    assert got["entries"] == []


def test_a_page_of_records_never_ends_inside_a_position(world):
    tablet = world.tablet()
    tablet.push(*(tablet.make(entity_id=f"r{n}") for n in range(6)))
    with write(world.engine) as connection:
        documents.put(
            connection, world.location_id, "record", "twin", {}, position=3, feed="records"
        )
    seen, cursor, more = [], None, True
    while more:
        got = page(world, cursor, feed="records", include_records=True, limit=2)
        seen += [(each["position"], each["doc_id"]) for each in got["documents"]]
        cursor, more = got["next_cursor"], got["more"]
    assert [each[1] for each in seen] == ["r0", "r1", "twin", "r2", "r3", "r4", "r5"]


def test_a_document_changed_again_comes_again(world):
    tablet = world.tablet()
    tablet.push(tablet.make())
    first = page(world, feed="records", include_records=True)
    tablet.push(tablet.make())
    then = page(world, first["next_cursor"], feed="records", include_records=True)
    assert [len(each["body"]["notes"]) for each in then["documents"]] == [2]


def test_a_cursor_is_refused_when_it_is_not_of_this_log(world):
    tablet = world.tablet()
    tablet.push(tablet.make())
    cursor = page(world)["next_cursor"]
    for bad in ("nonsense", "e30", cursor[:-2]):
        with pytest.raises(BadInput):
            page(world, bad)
    with pytest.raises(BadInput):
        page(world, cursor, feed="records", include_records=True)
    with write(world.engine) as connection:
        connection.exec_driver_sql("UPDATE location SET position = 1")
    with pytest.raises(Conflict) as raised:
        page(world, cursor)
    assert raised.value.code == "log_behind_cursor"
    with write(world.engine) as connection:
        connection.exec_driver_sql("UPDATE location SET position = 2, epoch = 'later'")
    with pytest.raises(Conflict) as raised:
        page(world, cursor)
    assert raised.value.code == "epoch_changed"


def test_a_revoked_tablet_pulls_nothing(world):
    tablet = world.tablet()
    assert page(world, tablet_or_location=tablet.row())["entries"]
    world.revoke(tablet)
    with pytest.raises(NotAllowed) as raised:
        page(world, tablet_or_location=tablet.row())
    assert raised.value.code == "tablet_revoked"
