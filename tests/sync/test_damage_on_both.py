"""Damage to the log on both databases: found every time, by itself or by a tablet, with its place.

The damage is done by whoever owns the tables, with their triggers off.
"""

import json

import pytest
from sqlalchemy import delete, insert, make_url, select, update

from api.audit.verify import verify_log
from api.events import chain
from api.storage import witnesses
from api.storage.engine import EVERYWHERE, is_postgresql, open_engine, read, write
from api.storage.tables import event, location, witness
from tests.postgresql import OWNER

TOLD = (4, 7, 9)
LAST = 9


def owner_of(database_url):
    """Return the URL with which the tables' owner comes; a file has nobody but its writers."""
    url = make_url(database_url)
    if url.get_backend_name() == "postgresql":
        url = url.set(username=OWNER)
    return url.render_as_string(hide_password=False)


@pytest.fixture
def damaged(world):
    """Give a function: what becomes of the rows -> (position, reason) that is found first."""
    tablet = world.tablet()
    tablet.push(*[tablet.make(payload={"text": f"größe {number}"}) for number in range(LAST - 1)])
    owner = open_engine(owner_of(world.database_url), reach=EVERYWHERE, as_owner=True)
    with write(owner) as connection:
        if is_postgresql(owner):
            connection.exec_driver_sql("ALTER TABLE event DISABLE TRIGGER USER")
            connection.exec_driver_sql("ALTER TABLE witness DISABLE TRIGGER USER")
        else:
            for table in ("event", "witness"):
                for change in ("update", "delete"):
                    connection.exec_driver_sql(f"DROP TRIGGER {table}_no_{change}")
        kept = [dict(row) for row in connection.execute(select(event)).mappings()]
        for row in kept:
            if row["position"] in TOLD:
                witnesses.note(
                    connection,
                    world.location_id,
                    tablet.tablet_id,
                    epoch=world.epoch,
                    position=row["position"],
                    link=row["link"],
                    now=world.clock.now(),
                )

    def damage(change, *, counter=False, forget=False):
        rows = sorted(change([dict(row) for row in kept]), key=lambda row: row["position"])
        with write(owner) as connection:
            connection.execute(delete(event))
            connection.execute(insert(event), rows)
            if counter:
                end = {"position": rows[-1]["position"], "link": rows[-1]["link"]}
                connection.execute(update(location).values(**end))
            if forget:
                connection.execute(delete(witness))
        found = verify_log(world.engine)["first_bad"]
        return None if found is None else (found["position"], found["reason"])

    yield damage
    owner.dispose()


def rechained(rows):
    """Compute every hash and link anew, as an able attacker would."""
    link = chain.FIRST_LINK
    for row in rows:
        row["header_hash"], row["body_hash"] = (
            chain.sha256(row["header"]),
            chain.sha256(row["body"]),
        )
        link = chain.link(previous=link, header_hash=row["header_hash"], body_hash=row["body_hash"])
        row["link"] = link
    return rows


def said(rows, at, **values):
    """Change what the server noted about an entry, in its text and in its columns."""
    row = rows[at - 1]
    text = json.loads(row["header"]) | values
    row["header"] = json.dumps(text, ensure_ascii=False, separators=(",", ":"))
    for name in values.keys() & {"verdict", "received_at"}:
        row[name] = values[name]
    return rows


def flip(rows):
    rows[4]["body"] = rows[4]["body"].replace("test", "tesu")
    return rows


def insert_one(rows):
    for row in rows[5:]:
        row["position"] += 1
    return [*rows, rows[2] | {"position": 6, "event_id": "another", "tablet_seq": 99}]


def swap(rows):
    rows[4]["position"], rows[5]["position"] = 6, 5
    return rows


EARLIER = "2026-03-02T08:00:00.000+00:00"
DAMAGE = {
    "nothing": (list, {}, None),
    "flip": (flip, {}, (5, "body_hash")),
    "delete": (lambda rows: [row for row in rows if row["position"] != 5], {}, (5, "position")),
    "insert": (insert_one, {}, (6, "link")),
    "swap": (swap, {}, (5, "link")),
    "truncate": (lambda rows: rows[:7], {}, (8, "counter")),
    "truncate, with the counter": (
        lambda rows: rows[:7],
        {"counter": True},
        (8, "remembered_head"),
    ),
    "a verdict": (lambda rows: said(rows, 6, verdict="quarantined"), {}, (6, "header_hash")),
    "a moment": (lambda rows: said(rows, 6, received_at=EARLIER), {}, (6, "header_hash")),
    "a moment, chain computed anew": (
        lambda rows: rechained(said(rows, 5, received_at=EARLIER)),
        {"counter": True},
        (7, "remembered_head"),
    ),
    "a verdict, chain computed anew": (
        lambda rows: rechained(said(rows, 8, verdict="conflict")),
        {"counter": True},
        (9, "remembered_head"),
    ),
    # The known-bad one: the same, where no tablet remembers.
    "a moment, chain computed anew, nobody remembers": (
        lambda rows: rechained(said(rows, 5, received_at=EARLIER)),
        {"counter": True, "forget": True},
        None,
    ),
}


@pytest.mark.both_databases
def test_all_of_it_is_found_with_its_position(world, damaged):
    with read(world.engine) as connection:
        [end] = connection.execute(select(location.c.position)).scalars()
    assert end == LAST
    found = {}
    for what, (change, how, _) in DAMAGE.items():
        found[what] = damaged(change, **how)
        # The counter stands where it stood before the next one.
        damaged(list, counter=True)
    assert found == {what: expected for what, (*_, expected) in DAMAGE.items()}
