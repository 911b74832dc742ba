"""A database that fails: nothing acknowledged is lost, and it goes on when it can."""

import pytest

from api.audit.verify import verify_log
from api.storage.engine import DBAPIError, write
from tests.sync.test_push import log, outcomes


def test_one_event_that_the_database_refuses_is_asked_for_again(world):
    tablet = world.tablet()
    items = [tablet.make(entity_id=entity_id) for entity_id in ("a", "cursed", "b")]
    with write(world.engine) as connection:
        connection.exec_driver_sql(
            "CREATE TRIGGER curse BEFORE INSERT ON event WHEN NEW.entity_id = 'cursed'"
            " BEGIN SELECT RAISE(ABORT, 'cursed'); END"
        )
    assert outcomes(tablet.push(*items)) == ["applied", "retry", "retry"]
    assert len(log(world)) == 2
    with write(world.engine) as connection:
        connection.exec_driver_sql("DROP TRIGGER curse")
    assert outcomes(tablet.push(*items)) == ["duplicate", "applied", "applied"]


def causes(problem):
    """Return the messages of an error and of those that it came from."""
    found = []
    while problem is not None:
        found.append(str(problem))
        problem = problem.__cause__ or problem.__context__
    return " ".join(found)


def test_a_full_disk_acknowledges_nothing_that_is_not_there(world):
    tablet = world.tablet()
    with world.engine.connect() as connection:
        pages = connection.exec_driver_sql("PRAGMA page_count").scalar()
        connection.exec_driver_sql(f"PRAGMA max_page_count = {pages + 40}")
    acknowledged, item = [], None
    with pytest.raises(DBAPIError) as raised:
        for _ in range(100):
            item = tablet.make(payload={"text": "x" * 8000})
            assert outcomes(tablet.push(item)) == ["applied"]
            acknowledged.append(item["event_id"])
    # A full disk makes SQLite undo the whole transaction by itself, savepoints included.
    assert "database or disk is full" in causes(raised.value)
    assert acknowledged
    stored = [row["event_id"] for row in log(world)[1:]]
    assert stored == acknowledged
    with world.engine.connect() as connection:
        connection.exec_driver_sql("PRAGMA max_page_count = 1000000")
    assert outcomes(tablet.push(item)) == ["applied"]
    assert verify_log(world.engine)["first_bad"] is None
