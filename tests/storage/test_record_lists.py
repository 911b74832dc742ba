"""Lists of records: pages that neither repeat nor skip, their index, old rows lifted."""

import sqlite3
from itertools import count

import pytest
from alembic import command
from alembic.config import Config
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import event

from api.migrations import run
from api.storage import departures, record_index
from api.storage.engine import open_engine, read, write
from tests.storage.test_projections_and_work import summary

LOCATIONS = count()
# Few starts for many records, so that most share theirs with another; None is not known.
STARTS = st.sampled_from([None, *(f"2026-03-0{day}T09:00:00.000+00:00" for day in range(1, 5))])
NOTHING = record_index.Wanted()


def put_all(connection, location, records):
    for record_id, started in records.items():
        row = summary(record_id, started_at=started)
        record_index.put(connection, location, row)


def walk(connection, location, limit, between):
    """Read all pages, with something done after each; return the ids in the order shown."""
    shown, after = [], None
    while True:
        rows, after = record_index.page(connection, location, NOTHING, after=after, limit=limit)
        shown += [row["record_id"] for row in rows]
        if after is None:
            return shown
        between()


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(
    there=st.dictionaries(st.text("abcxyz", min_size=1, max_size=4), STARTS, max_size=12),
    coming=st.dictionaries(st.text("ABC", min_size=1, max_size=4), STARTS, max_size=8),
    limit=st.integers(1, 5),
)
def test_what_was_there_is_shown_once_whatever_comes_in_meanwhile(engine, there, coming, limit):
    location = f"l{next(LOCATIONS)}"
    more = iter(coming.items())
    with write(engine) as connection:
        put_all(connection, location, there)
        shown = walk(
            connection,
            location,
            limit,
            lambda: put_all(connection, location, dict([next(more, ("late", None))])),
        )
        old = [record_id for record_id in shown if record_id in there]
        # Latest start first, unknown starts last, and of one start the higher id first.
        assert old == sorted(there, key=lambda each: (there[each] or "", each), reverse=True)
        assert len(set(shown)) == len(shown)
        assert record_index.count(connection, location, NOTHING) >= len(there)


def test_pages_counted_off_would_repeat(engine):
    """The known-bad one: why a page goes on after a key and not after a number of rows."""
    with write(engine) as connection:
        put_all(connection, "l", {each: f"2026-03-0{each}T09:00:00.000Z" for each in "123"})

        def by_offset(offset):
            rows, _ = record_index.page(connection, "l", NOTHING, limit=offset + 2)
            return [row["record_id"] for row in rows[offset:]]

        first = by_offset(0)
        put_all(connection, "l", {"4": "2026-03-04T09:00:00.000Z"})
        assert set(first) & set(by_offset(2)), "the stub must fail"


def test_a_page_is_read_off_the_index_and_not_sorted(engine):
    asked = []
    event.listen(
        engine,
        "before_cursor_execute",
        lambda *given: asked.append((given[2], given[3])),
    )
    with read(engine) as connection:
        record_index.page(
            connection, "l", NOTHING, after=("2026-03-01T00:00:00.000+00:00", "x"), limit=50
        )
        statement, values = asked[-1]
        plan = connection.exec_driver_sql(f"EXPLAIN QUERY PLAN {statement}", values).all()
    told = " ".join(str(row) for row in plan)
    assert "ix_record_index_location_id_started_utc_record_id" in told
    assert "TEMP B-TREE" not in told


def test_rows_of_the_first_version_are_lifted(tmp_path):
    path = tmp_path / "old.sqlite3"
    url = f"sqlite:///{path}"
    engine = open_engine(url)
    with write(engine) as connection:
        config = Config()
        config.set_main_option("script_location", str(run.FOLDER))
        config.attributes["connection"] = connection
        command.upgrade(config, "0001")
    engine.dispose()
    with sqlite3.connect(path) as raw:
        for record_id, started, placed in (
            ("known", "2026-03-01T08:00:00.000+00:00", "2026-03-02T08:00:00.000+00:00"),
            ("unknown", None, None),
        ):
            raw.execute(
                "INSERT INTO record_index (location_id, record_id, status, version, chart_number,"
                " operator_name, started_utc, signed_utc, passes, placed_at, position, flags)"
                " VALUES ('l', ?, 'signed', 1, 'C-1', 'Dr Ñandú', ?, ?, 1, ?, 1, '[]')",
                (record_id, started, started, placed),
            )
    run.upgrade(url)
    engine = open_engine(url)
    with read(engine) as connection:
        wanted = record_index.Wanted(q="c-1 nandu")
        rows, following = record_index.page(connection, "l", wanted, limit=1)
        assert [(row["record_id"], row["placed_version"]) for row in rows] == [("known", 1)]
        rows, following = record_index.page(connection, "l", wanted, after=following, limit=1)
        assert [(row["record_id"], row["placed_version"]) for row in rows] == [("unknown", None)]
        assert following is None
        assert record_index.queue(connection, "l") == []
    engine.dispose()


def departure(event_id, **more):
    return {
        "event_id": event_id,
        "kind": departures.MOVED,
        "chart_number": " Q-7 ",
        "second_identifier": "XY",
        "at": "2026-03-01T08:00:00.000+00:00",
        "by_id": "p",
        "by_name": "Dr",
        "reason": "wrong card",
        "away": 1,
        "paper": 0,
        "removed_at": None,
        **more,
    }


@pytest.mark.parametrize(
    ("row", "told", "asked_out"),
    [
        (departure("e"), 1, 0),
        (departure("e", paper=1), 1, 1),
        (departure("e", paper=1, removed_at="2026-03-02T08:00:00.000+00:00"), 1, 0),
        (departure("e", away=0), 0, 0),
        (departure("e", kind=departures.VOID, paper=1), 0, 1),
        (departure("e", chart_number=None), 0, 0),
    ],
)
def test_what_left_a_chart(engine, row, told, asked_out):
    with write(engine) as connection:
        departures.put_all(connection, "l", {"rec": [row]})
        assert len(departures.moved_from(connection, "l", "q-7")) == told
        assert departures.moved_from(connection, "l", "q-") == []
        assert departures.moved_from(connection, "other", "q-7") == []
        assert len(departures.papers_to_remove(connection, "l")) == asked_out
        # Made anew with each entry: what no longer holds goes.
        departures.put_all(connection, "l", {"rec": []})
        assert departures.moved_from(connection, "l", "q-7") == []
