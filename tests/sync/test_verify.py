"""Damage done to the log on the disk: found every time, with its position."""

import json
import sqlite3
from contextlib import closing

import pytest

from api.audit import verify
from api.events import chain, signing
from api.storage import witnesses
from api.storage.engine import read, write
from api.sync.pull import pull
from tests.sync.test_push import broken, published
from tests.sync.world import World

LAST = 12


@pytest.fixture(scope="module")
def logged(tmp_path_factory):
    """A log of twelve entries: two tablets, a desk, one put aside, one in conflict."""
    world = World(tmp_path_factory.mktemp("log"))
    one, other = world.tablet(), world.tablet()
    heads = []

    def remember():
        got = pull(
            world.engine, world.clock, world.server_key, tablet_or_location=world.location_id
        )
        heads.append(got["head"])

    list_id = world.new_id()
    steps = [
        lambda: one.push(one.make()),
        lambda: other.push(other.make()),
        lambda: one.push(broken(one, lambda body: body.update(type="laser.dreamt"))),
        lambda: one.push(one.make("list.published", entity_id=list_id, payload=published(1))),
        lambda: other.push(
            other.make("list.published", entity_id=list_id, payload=published(1, "Other"))
        ),
        lambda: other.push(other.sign(other.make(), body="unreadable")),
        lambda: world.append_as_desk("key-1"),
        *[lambda: one.push(one.make(payload={"text": "größer"}))] * 4,
    ]
    remember()
    for step in steps:
        world.later(seconds=7)
        step()
        remember()
    with write(world.engine) as connection:
        for table in ("event", "payload"):
            for change in ("update", "delete"):
                connection.exec_driver_sql(f"DROP TRIGGER {table}_no_{change}")
        connection.exec_driver_sql("PRAGMA defer_foreign_keys = ON")
    world.heads = heads
    yield world
    world.close()


def check(world, **more):
    return verify.verify_log(world.engine, **more)


@pytest.fixture
def damaged(logged):
    """Run an attacker's statements, then put the tables back as they were."""
    path = logged.engine.url.database
    tables = ("event", "payload", "location", "tablet")
    with closing(sqlite3.connect(path)) as raw:
        kept = {name: raw.execute(f"SELECT * FROM {name}").fetchall() for name in tables}
        raw.row_factory = sqlite3.Row

        def damage(function):
            function(raw)
            raw.commit()

        yield damage
        raw.row_factory = None
        for name, rows in kept.items():
            raw.execute(f"DELETE FROM {name}")
            marks = ",".join("?" * len(rows[0]))
            raw.executemany(f"INSERT INTO {name} VALUES ({marks})", rows)
        raw.commit()


def rechain(raw, *, from_position=1):
    """Compute headers' columns, hashes, links and the counter anew, as an able attacker would."""
    rows = raw.execute("SELECT * FROM event ORDER BY position").fetchall()
    link = chain.FIRST_LINK
    for row in rows:
        header_hash, body_hash = chain.sha256(row["header"]), chain.sha256(row["body"])
        link = chain.link(previous=link, header_hash=header_hash, body_hash=body_hash)
        if row["position"] >= from_position:
            raw.execute(
                "UPDATE event SET header_hash = ?, body_hash = ?, link = ? WHERE position = ?",
                (header_hash, body_hash, link, row["position"]),
            )
    raw.execute("UPDATE location SET position = ?, link = ?", (len(rows), link))


def change_header(raw, at, **values):
    """Change what the server said about an entry, in the columns and in the text."""
    [row] = raw.execute("SELECT * FROM event WHERE position = ?", (at,)).fetchall()
    header = json.dumps(
        {**json.loads(row["header"]), **values}, ensure_ascii=False, separators=(",", ":")
    )
    raw.execute("UPDATE event SET header = ? WHERE position = ?", (header, at))
    for name, value in values.items():
        raw.execute(f"UPDATE event SET {name} = ? WHERE position = ?", (value, at))


def renumber(raw, moved):
    """Give entries other positions, by way of numbers that are free."""
    for old in moved:
        raw.execute("UPDATE event SET position = ? WHERE position = ?", (-old, old))
    for old, new in moved.items():
        raw.execute("UPDATE event SET position = ? WHERE position = ?", (new, -old))


def first_bad(report):
    bad = report["first_bad"]
    return None if bad is None else (bad["position"], bad["reason"])


def test_an_undamaged_log_holds(logged):
    steps = []
    report = check(
        logged,
        progress=lambda done, total: steps.append((done, total)),
        heads=logged.heads,
        server_public_key=signing.public_key_text(logged.server_key),
    )
    assert (report["ok"], report["first_bad"], report["entries"]) == (True, None, LAST)
    assert steps[-1] == (LAST, LAST)
    with read(logged.engine) as connection:
        verdicts = connection.exec_driver_sql(
            "SELECT verdict, count(*) FROM event GROUP BY verdict ORDER BY verdict"
        ).fetchall()
    assert [tuple(row) for row in verdicts] == [("applied", 9), ("conflict", 1), ("quarantined", 2)]


def test_pages_do_not_matter(logged, monkeypatch):
    for size in (1, 5, LAST):
        monkeypatch.setattr(verify, "PAGE", size)
        assert check(logged, heads=logged.heads)["entries"] == LAST


def test_every_column_of_every_entry_is_covered(logged, damaged):
    columns = [
        *("epoch", "event_id", "tablet_id", "tablet_seq", "type", "entity_id", "actor_id"),
        *("corrects", "received_at", "verdict", "reason", "header", "body", "body_hash"),
        *("header_hash", "signature", "link", "position"),
    ]
    found = []

    def flip(raw):
        for position in range(1, LAST + 1):
            [row] = raw.execute("SELECT * FROM event WHERE position = ?", (position,)).fetchall()
            for column in columns:
                if row["type"] is None and column in ("type", "entity_id", "actor_id", "corrects"):
                    # An unreadable body says nothing that its columns could contradict.
                    continue
                update = f"UPDATE event SET {column} = ? WHERE position = ?"
                raw.execute(update, (flipped(row[column]), position))
                raw.commit()
                moved = flipped(position) if column == "position" else position
                found.append((position, column, check(logged)["first_bad"]))
                raw.execute(update, (row[column], moved))
        raw.commit()

    damaged(flip)
    missed = [each for each in found if each[2] is None or each[2]["position"] != each[0]]
    assert missed == []
    assert len(found) == LAST * len(columns) - 4
    assert check(logged)["ok"]


def flipped(value):
    """Change one bit, or as little as there is to change."""
    if value is None:
        return "x"
    if isinstance(value, int):
        return value + 1000
    if isinstance(value, bytes):
        return bytes([value[0] ^ 1]) + value[1:]
    middle = len(value) // 2
    return value[:middle] + chr(ord(value[middle]) ^ 1) + value[middle + 1 :]


def test_a_payload_changed_or_taken_away(logged, damaged):
    def change(raw):
        raw.execute("UPDATE payload SET payload = replace(payload, 'größer', 'grösser')")

    damaged(change)
    assert first_bad(check(logged)) == (9, "payload_hash")

    def take(raw):
        raw.execute(
            "DELETE FROM payload WHERE event_id = (SELECT event_id FROM event WHERE position = 5)"
        )

    damaged(take)
    assert first_bad(check(logged)) == (5, "payload_missing")


@pytest.mark.parametrize("position", [1, 6, LAST])
def test_an_entry_deleted(logged, damaged, position):
    damaged(lambda raw: raw.execute("DELETE FROM event WHERE position = ?", (position,)))
    reason = "counter" if position == LAST else "position"
    assert first_bad(check(logged)) == (position, reason)


def test_an_entry_deleted_and_the_rest_moved_up(logged, damaged):
    def take(raw):
        raw.execute("DELETE FROM event WHERE position = 6")
        renumber(raw, {old: old - 1 for old in range(7, LAST + 1)})

    damaged(take)
    assert first_bad(check(logged)) == (6, "link")


def test_an_entry_inserted(logged, damaged):
    def insert(raw):
        renumber(raw, {old: old + 1 for old in range(LAST, 5, -1)})
        [row] = raw.execute("SELECT * FROM event WHERE position = 3").fetchall()
        new = {**row, "position": 6, "event_id": "another", "tablet_seq": 99}
        marks = ",".join("?" * len(new))
        raw.execute(f"INSERT INTO event VALUES ({marks})", list(new.values()))
        raw.execute("UPDATE location SET position = position + 1")

    damaged(insert)
    assert first_bad(check(logged)) == (6, "link")


def test_an_entry_appended_that_no_tablet_signed(logged, damaged):
    def insert(raw):
        [row] = raw.execute("SELECT * FROM event WHERE position = ?", (LAST,)).fetchall()
        body = json.dumps({**json.loads(row["body"]), "event_id": "another", "tablet_seq": 8})
        new = {**row, "position": 13, "event_id": "another", "tablet_seq": 8, "body": body}
        marks = ",".join("?" * len(new))
        raw.execute(f"INSERT INTO event VALUES ({marks})", list(new.values()))
        raw.execute(
            "INSERT INTO payload SELECT location_id, 'another', salt, payload FROM payload"
            " WHERE event_id = ?",
            (row["event_id"],),
        )
        change_header(raw, 13, position=13)
        rechain(raw)

    damaged(insert)
    assert first_bad(check(logged)) == (13, "signature")


def test_two_entries_swapped(logged, damaged):
    damaged(lambda raw: renumber(raw, {9: 10, 10: 9}))
    assert first_bad(check(logged)) == (9, "link")


def test_two_entries_swapped_and_the_chain_recomputed(logged, damaged):
    def swap(raw):
        renumber(raw, {9: 10, 10: 9})
        change_header(raw, 9, position=9)
        change_header(raw, 10, position=10)
        rechain(raw)

    damaged(swap)
    assert first_bad(check(logged)) == (9, "sequence")


def test_a_text_changed_and_the_chain_recomputed(logged, damaged):
    def forge(raw):
        raw.execute(
            'UPDATE event SET body = replace(body, \'"app_build":"test"\', \'"app_build":"tesu"\')'
            " WHERE position = 9"
        )
        rechain(raw)

    damaged(forge)
    assert first_bad(check(logged)) == (9, "signature")


@pytest.mark.parametrize(
    "values", [{"verdict": "quarantined"}, {"received_at": "2026-03-02T08:00:00.000+00:00"}]
)
def test_what_the_server_said_changed(logged, damaged, values):
    damaged(lambda raw: change_header(raw, 8, **values))
    assert first_bad(check(logged)) == (8, "header_hash")

    # The chain computed anew as well: nothing on the server contradicts it any more, but every
    # head that a tablet pulled since does.
    damaged(rechain)
    assert check(logged)["ok"]
    assert first_bad(check(logged, heads=logged.heads)) == (8, "remembered_head")
    assert first_bad(check(logged, heads=logged.heads[-1:])) == (LAST, "remembered_head")


def test_a_log_cut_short_is_found_by_the_counter_or_a_remembered_head(logged, damaged):
    damaged(lambda raw: raw.execute("DELETE FROM event WHERE position > 9"))
    assert first_bad(check(logged)) == (10, "counter")
    damaged(rechain)
    assert check(logged)["ok"]
    assert first_bad(check(logged, heads=logged.heads)) == (10, "remembered_head")


def test_a_head_that_the_server_never_signed_counts_as_damage(logged):
    head = logged.heads[3]
    forged = {**head, "text": head["text"].replace('"position":4', '"position":5')}
    key = signing.public_key_text(logged.server_key)
    report = check(logged, heads=[forged], server_public_key=key)
    assert first_bad(report) == (5, "head_signature")


def test_the_same_damage_passes_a_verifier_that_skips_the_links(logged, damaged, monkeypatch):
    """The known-bad one: it checks each entry by itself."""

    def change(raw):
        change_header(raw, 8, verdict="quarantined")
        [row] = raw.execute("SELECT header FROM event WHERE position = 8").fetchall()
        raw.execute(
            "UPDATE event SET header_hash = ? WHERE position = 8", (chain.sha256(row["header"]),)
        )

    damaged(change)
    assert first_bad(check(logged)) == (8, "link")
    monkeypatch.setattr(verify._Location, "_link_problem", lambda _self, _stored: None)
    assert check(logged)["ok"]


def test_a_payload_put_aside_for_its_form_is_held_to_its_hash(tmp_path):
    world = World(tmp_path)
    tablet = world.tablet()
    item = tablet.make()
    payload, salt = '{"text":5}', bytes.fromhex(item["salt"])
    body = json.loads(item["body"]) | {
        "payload_hash": chain.payload_hash(salt=salt, payload=payload)
    }
    [result] = tablet.push(tablet.sign(item, body=json.dumps(body), payload=payload))
    assert (result["outcome"], result["reason"]) == ("quarantined", "schema")
    assert check(world)["ok"]
    with write(world.engine) as connection:
        connection.exec_driver_sql("DROP TRIGGER payload_no_update")
        connection.exec_driver_sql(
            "UPDATE payload SET payload = '{\"text\":6}' WHERE payload = '{\"text\":5}'"
        )
    assert first_bad(check(world)) == (result["position"], "payload_hash")
    world.close()


def told(world, tablet_id, positions):
    """Let a tablet have told of the log as it is at these positions, as it does with its pulls."""
    with read(world.engine) as connection:
        links = dict(connection.exec_driver_sql("SELECT position, link FROM event").all())
    with write(world.engine) as connection:
        for position in positions:
            witnesses.note(
                connection,
                world.location_id,
                tablet_id,
                epoch=world.epoch,
                position=position,
                link=links[position],
                now=world.clock.now(),
            )


@pytest.fixture
def witnessed(logged, damaged):
    """Two tablets that followed the log, told of a few positions each."""
    told(logged, "tablet-a", (3, 9))
    told(logged, "tablet-b", (6, LAST))
    yield damaged
    with write(logged.engine) as connection:
        connection.exec_driver_sql("DROP TRIGGER IF EXISTS witness_no_delete")
        connection.exec_driver_sql("DELETE FROM witness")


def test_what_tablets_told_agrees_with_an_undamaged_log(logged, witnessed):
    assert check(logged)["ok"]


@pytest.mark.parametrize(
    ("at", "position", "tablet_id", "agreed"),
    [(2, 3, "tablet-a", 0), (5, 6, "tablet-b", 3), (8, 9, "tablet-a", 6), (12, 12, "tablet-b", 9)],
)
def test_a_chain_computed_anew_is_found_between_two_heads_of_tablets(
    logged, witnessed, at, position, tablet_id, agreed
):
    def forge(raw):
        change_header(raw, at, received_at="2026-03-02T08:00:00.000+00:00")
        rechain(raw)

    witnessed(forge)
    found = check(logged)["first_bad"]
    assert (found["position"], found["reason"]) == (position, "remembered_head")
    assert (found["tablet_id"], found["agreed_position"]) == (tablet_id, agreed)


def test_a_log_cut_short_with_its_counter_is_found_by_a_tablets_head(logged, witnessed):
    def cut(raw):
        raw.execute("DELETE FROM event WHERE position > 10")
        rechain(raw)

    witnessed(cut)
    found = check(logged)["first_bad"]
    assert (found["position"], found["reason"]) == (11, "remembered_head")
    assert (found["tablet_id"], found["agreed_position"]) == ("tablet-b", 9)


def test_the_same_forgery_passes_where_nobody_remembers(logged, damaged):
    """The known-bad one: a log whose only witness is its own server."""

    def forge(raw):
        change_header(raw, 8, received_at="2026-03-02T08:00:00.000+00:00")
        rechain(raw)

    damaged(forge)
    assert check(logged)["ok"]
