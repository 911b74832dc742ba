"""What the database lets go of, and what checking the log makes of what is missing."""

import json

import pytest
from sqlalchemy import delete, insert, select

from api.storage.engine import DBAPIError, is_postgresql, read, write
from api.storage.tables import attachment, erased, event, payload, rendering
from tests.erasure import acts
from tests.erasure.acts import PICTURE

both = pytest.mark.both_databases


@pytest.fixture
def owner(database_url):
    opened = acts.owner_engine(database_url)
    yield opened
    opened.dispose()


def disarm(owner) -> None:
    """Do what an attacker who owns the tables does first."""
    with write(owner) as connection:
        for table in ("payload", "erased", "event"):
            if is_postgresql(owner):
                connection.exec_driver_sql(f"ALTER TABLE {table} DISABLE TRIGGER USER")
                continue
            for name in ("no_update", "no_delete", "stays_away"):
                connection.exec_driver_sql(f"DROP TRIGGER IF EXISTS {table}_{name}")


def found(house) -> tuple | None:
    bad = house.verified()["first_bad"]
    return None if bad is None else (bad["position"], bad["reason"])


@both
def test_nothing_goes_that_the_log_does_not_list(house, owner):
    """Neither the application nor the tables' owner can delete what no entry says is erased."""
    record_id, _ = house.record()
    with read(house.engine) as connection:
        row = connection.execute(
            select(event.c.event_id, event.c.position).where(event.c.entity_id == record_id)
        ).first()
    forged = {
        "location_id": house.location_id,
        "kind": "payload",
        "what": row.event_id,
        "record_id": record_id,
        # The place of an entry that is no ``retention.erased``.
        "by_position": row.position,
        "at": "2026-03-02T08:00:00.000+00:00",
    }
    with write(house.engine) as connection:
        connection.execute(insert(erased).values(forged))
    for engine in (house.engine, owner):
        for table in (payload, rendering, attachment):
            with pytest.raises(DBAPIError), write(engine) as connection:
                connection.execute(delete(table))
    assert None not in house.payloads(record_id)
    if is_postgresql(house.engine):
        # The one way to delete, asked for a place where nothing was ordered: nothing goes.
        with (
            pytest.raises(DBAPIError, match="append-only"),
            write(house.engine) as connection,
        ):
            connection.exec_driver_sql(
                "SELECT erase_listed(%s, %s)", (house.location_id, row.position)
            )
        with (
            pytest.raises(DBAPIError, match="out of reach"),
            write(house.engine, locations=["another"]) as connection,
        ):
            connection.exec_driver_sql(
                "SELECT erase_listed(%s, %s)", (house.location_id, row.position)
            )


@both
def test_what_nobody_ordered_is_damage_and_what_was_ordered_must_be_gone(house, owner):
    kept_id, tablet = house.record(picture=None)
    gone_id, _ = house.record(tablet, picture=None)
    done = house.erase(gone_id)
    assert found(house) is None
    disarm(owner)
    here = payload.c.location_id == house.location_id

    def stored(record_id):
        with read(owner) as connection:
            rows = connection.execute(
                select(event.c.event_id, event.c.position)
                .where(event.c.entity_id == record_id)
                .order_by(event.c.position)
            )
            return [tuple(row) for row in rows]

    # A payload that is missing by nobody's word.
    event_id, position = stored(kept_id)[2]
    with write(owner) as connection:
        taken = connection.execute(
            select(payload).where(here, payload.c.event_id == event_id)
        ).one()
        connection.execute(delete(payload).where(here, payload.c.event_id == event_id))
    assert found(house) == (position, "payload_missing")
    # A list of what was erased is no order: only the log gives one.
    with write(owner) as connection:
        connection.execute(
            insert(erased).values(
                location_id=house.location_id,
                kind="payload",
                what=event_id,
                record_id=kept_id,
                by_position=done["position"],
                at="2026-03-02T08:00:00.000+00:00",
            )
        )
    assert found(house) == (position, "payload_missing")
    with write(owner) as connection:
        connection.execute(insert(payload).values(**taken._mapping))
    assert found(house) is None
    # One that the log says is erased, and that somebody put back.
    event_id, position = stored(gone_id)[1]
    with write(owner) as connection:
        connection.execute(
            insert(payload).values(
                location_id=house.location_id, event_id=event_id, salt=bytes(16), payload="{}"
            )
        )
    assert found(house) == (position, "erasure_undone")
    with write(owner) as connection:
        connection.execute(delete(payload).where(here, payload.c.event_id == event_id))
    assert found(house) is None
    # The order itself is no record: taken away, it is missed where it stands, or before.
    with write(owner) as connection:
        [own] = connection.execute(
            select(event.c.event_id).where(event.c.position == done["position"])
        ).scalars()
        connection.execute(delete(payload).where(here, payload.c.event_id == own))
    assert found(house)[1] == "payload_missing"


def test_a_check_that_takes_any_missing_content_for_erased_would_find_nothing(
    house, owner, monkeypatch
):
    """The known-bad one."""
    from api.audit import erasures

    house.record(picture=None)
    disarm(owner)
    with write(owner) as connection:
        connection.execute(delete(payload))
    assert found(house)[1] == "payload_missing"
    monkeypatch.setattr(erasures, "missing_problem", lambda _stored, _order: None)
    monkeypatch.setattr(
        "api.audit.erasures.ordered",
        lambda *_: AnyOrder(),
    )
    assert found(house) is None


class AnyOrder(dict):
    def get(self, _key, _default=None):
        return {"by_position": 1, "record_id": None}


def test_an_order_lets_go_of_a_records_entries_only(house):
    """What the house's registers say cannot be erased, and a check says so."""
    from api.audit.erasures import missing_problem

    stored = {"payload": None, "verdict": "applied", "entity_id": "r", "type": "person.registered"}
    order = {"record_id": "r"}
    assert missing_problem(stored, order) == "payload_missing"
    assert missing_problem({**stored, "type": "pass.started"}, order) is None
    assert missing_problem({**stored, "type": "pass.started"}, {"record_id": "s"}) is not None
    assert missing_problem({**stored, "type": "laser.dreamt"}, order) == "payload_missing"
    aside = {**stored, "type": "laser.dreamt", "verdict": "quarantined"}
    assert missing_problem(aside, order) is None
    assert missing_problem({**stored, "type": "pass.started", "payload": "{}"}, order) == (
        "erasure_undone"
    )


@both
def test_a_photograph_goes_by_the_order_that_lists_it(house):
    record_id, _ = house.record()
    house.erase(record_id)
    with read(house.engine) as connection:
        left = connection.execute(select(attachment.c.sha256)).scalars().all()
        listed = connection.execute(
            select(erased.c.kind, erased.c.sha256).where(erased.c.kind != "payload")
        ).all()
        rows = connection.execute(
            select(erased.c.sha256, event.c.body)
            .join(event, event.c.event_id == erased.c.what)
            .where(erased.c.kind == "payload")
        ).all()
    assert left == []
    assert ("attachment", acts.sha256(PICTURE)) in [tuple(row) for row in listed]
    assert sorted(row.kind for row in listed) == ["attachment", "record", "rendering", "rendering"]
    # What stood there stays known by its hash, as the signed body has it.
    assert all(row.sha256 == json.loads(row.body)["payload_hash"] for row in rows)
    assert len(rows) == 6
