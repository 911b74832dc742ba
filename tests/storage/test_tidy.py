"""Tidying up: what is over goes after a while, what is still valid stays, the log never goes."""

from datetime import UTC, datetime, timedelta

import pytest
from sqlalchemy import func, insert, select

from api.clock import SteppedClock
from api.storage import access, tables, tidy
from api.storage.engine import read, write
from api.storage.rows import utc_text
from api.work.tidying import Tidying

pytestmark = pytest.mark.both_databases(long=True)

NOW = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
DAY = timedelta(days=1)


def text(days):
    """A moment by days from now."""
    return utc_text(NOW + days * DAY)


def rows(day):
    """One row of each table that tidying looks at, over (or begun) at ``day`` from now."""
    name = f"row {day}"
    home = {"location_id": "l"}
    whose = {**home, "person_id": "p"}
    return {
        tables.link: {
            **whose,
            "link_hash": name,
            "purpose": "reset",
            "made_at": text(day - 1),
            "expires_at": text(day),
        },
        tables.enrol_code: {**home, "code_hash": name, "expires_at": text(day)},
        tables.challenge: {"nonce_hash": name, "tablet_id": "t", "expires_at": text(day)},
        tables.ceremony: {
            **whose,
            "ceremony_hash": name,
            "purpose": "sign_in",
            "expires_at": text(day),
        },
        tables.token: {
            **whose,
            "token_hash": name,
            "kind": "desk",
            "made_at": text(day - 1),
            "used_at": text(day - 1),
            "expires_at": text(day),
        },
        tables.idempotency_key: {
            **home,
            "key": name,
            "request_hash": "h",
            "event_id": name,
            "made_at": text(day),
        },
        tables.asked: {"what": "pin", "who": name, "began_at": text(day), "times": 1},
    }


def put(connection, day):
    for table, values in rows(day).items():
        connection.execute(insert(table).values(values))


def left(engine):
    with read(engine) as connection:
        return {
            table.name: connection.execute(select(func.count()).select_from(table)).scalar_one()
            for table in rows(0)
        }


@pytest.fixture
def home(engine):
    """A location and a tablet of it, since on PostgreSQL a nonce belongs to a tablet's."""
    with write(engine) as connection:
        connection.execute(
            insert(tables.location).values(
                location_id="l", epoch="e", position=0, link=b"", opened_at=text(-100)
            )
        )
        connection.execute(
            insert(tables.tablet).values(
                tablet_id="t",
                location_id="l",
                kind="tablet",
                label="t",
                public_key="k",
                next_seq=1,
                enrolled_at=text(-100),
                pushed_after_revoked=0,
                first_seq=1,
                unconfirmed=0,
            )
        )
    return engine


def test_what_is_over_for_long_goes_and_what_is_valid_stays(home):
    with write(home) as connection:
        put(connection, -31)
        put(connection, 0.5)
        # Ended by hand long before its time: over as well.
        connection.execute(
            insert(tables.token).values(
                rows(1)[tables.token] | {"token_hash": "ended", "ended_at": text(-8)}
            )
        )
        gone = tidy.tidy(connection, now=NOW)
    assert gone == {name: 2 if name == "token" else 1 for name in gone}
    assert left(home) == dict.fromkeys(gone, 1)


def test_what_has_just_run_out_can_still_be_told_of(home):
    with write(home) as connection:
        put(connection, -0.5)
        assert set(tidy.tidy(connection, now=NOW).values()) == {0}
    assert set(left(home).values()) == {1}


def test_wrong_guesses_and_the_access_log_never_go(home):
    years = NOW + 3650 * DAY
    with write(home) as connection:
        access.note(connection, location_id="l", at=NOW, action="read", subjects=["a", "b"])
        connection.execute(
            insert(tables.attempt).values(location_id="l", kind="pin", subject="p", wrong=10)
        )
        tidy.tidy(connection, now=years)
        kept = [
            connection.execute(select(func.count()).select_from(table)).scalar_one()
            for table in (tables.access_log, tables.access_subject, tables.attempt)
        ]
    assert kept == [1, 2, 1]


def test_the_worker_tidies_when_it_begins_and_then_once_an_hour(home):
    clock, tidying = SteppedClock(NOW), Tidying()
    with write(home) as connection:
        put(connection, -31)
    assert tidying.run_if_due(home, clock)["link"] == 1
    clock.advance(59 * 60)
    assert tidying.run_if_due(home, clock) == {}
    clock.advance(60)
    assert tidying.run_if_due(home, clock)["link"] == 0
