"""What a practice erases goes from every history that its group keeps of the log."""

import pytest

from api.audit.verify import verify_log
from api.group import projecting
from api.records import erasure_beside
from api.storage import attachment_uses, attachments, erased, followed, jobs, renderings
from api.storage.engine import DBAPIError, read, write
from tests.erasure.acts import MARK, PICTURE, House, sha256
from tests.group.test_erased import marks_in
from tests.group.test_histories import backup, states
from tests.web.test_attachments import name
from tests.web.test_attachments import put as hand_in

__all__ = ["backup"]

both = pytest.mark.both_databases


def put_back(two, backup):
    """Let the practice go back to before a part of a record; return (record_id, tablet, house)."""
    make, back = backup
    house = House(two.practice)
    record_id, tablet = house.record()
    made = make()
    # What only the history that is set aside will have.
    tablet.record("procedure.noted", record_id, {"text": f"{MARK} said it hurt"})
    tablet.push()
    two.once()
    # As a group would that made the papers of what it follows.
    with write(two.group.engine) as connection:
        renderings.put(
            connection,
            two.practice.location_id,
            record_id,
            9,
            "pdf",
            f"%PDF {MARK}".encode(),
            made_at=two.clock.now(),
        )
    two.clock.advance(60)
    back(made)
    two.once()
    assert [state for state, *_ in states(two)] == ["set_aside", "current"]
    return record_id, tablet, House(two.practice)


def photographs(two) -> dict[str, bool]:
    with read(two.group.engine) as connection:
        return {
            one["state"]: attachments.get(connection, one["location_id"], sha256(PICTURE))
            is not None
            for one in two.histories()
        }


def test_an_order_reaches_what_was_set_aside_and_the_log_still_holds(two, backup):
    record_id, _, house = put_back(two, backup)
    before = marks_in(two.group.engine)
    assert before["payload"] > 2 and before["rendering"] == 1
    assert photographs(two) == {"set_aside": True, "current": True}
    house.erase(record_id)
    house.work()
    two.once()
    assert marks_in(two.group.engine) == {}
    assert photographs(two) == {"set_aside": False, "current": False}
    report = verify_log(two.group.engine)
    assert report["first_bad"] is None
    [aside, current] = two.histories()
    told = {one["location_id"]: one["erased"] for one in report["locations"]}
    assert told[aside["location_id"]] != []
    assert {one["by_location"] for one in told[aside["location_id"]]} == {current["location_id"]}
    # One more there than the order names: what the practice itself had lost.
    assert len(told[aside["location_id"]]) == len(told[current["location_id"]]) + 1
    assert two.same()


@both
def test_a_copy_of_what_is_shared_goes_too(two):
    """Both databases: a history that has all of the log up to here in a copy of its own."""
    house = House(two.practice)
    record_id, _ = house.record()
    two.once()
    [current] = two.histories()
    with write(two.group.engine) as connection:
        followed.begin(
            connection,
            "set-aside",
            practice_id=current["practice_id"],
            of_location=current["of_location"],
            state=followed.SET_ASIDE,
            epoch=current["epoch"],
            shared={"location_id": current["location_id"], "position": current["position"]},
            link=current["link"],
            now=two.clock.now(),
        )
        rows = erased.entries_of(connection, "set-aside", record_id)
    assert all(row["payload"] is not None for row in rows) and rows
    house.erase(record_id)
    two.once()
    assert marks_in(two.group.engine) == {}
    assert verify_log(two.group.engine)["ok"]
    with read(two.group.engine) as connection:
        rows = erased.entries_of(connection, "set-aside", record_id)
    assert all(row["payload"] is None for row in rows)


def test_without_it_the_content_lies_there_and_the_check_says_so(two, backup, monkeypatch):
    """The known-bad twin: an order that is done in its own history only."""
    record_id, _, house = put_back(two, backup)
    monkeypatch.setattr(erasure_beside, "let_go", lambda *_: None)
    house.erase(record_id)
    two.once()
    assert marks_in(two.group.engine) != {}
    assert verify_log(two.group.engine)["first_bad"]["reason"] == "erasure_undone"


def test_another_record_loses_nothing_of_it(two, backup):
    make, back = backup
    house = House(two.practice)
    record_id, tablet = house.record()
    other_id, _ = house.record(tablet, picture=None)
    made = make()
    # The same picture, of another record too, in the history that is set aside.
    name(tablet, PICTURE, other_id)
    assert hand_in(two.practice, tablet, PICTURE, named=False).status_code == 200
    two.once()
    two.clock.advance(60)
    back(made)
    two.once()
    two.practice.house.engine.dispose()
    house = House(two.practice)
    [aside, _] = two.histories()
    with read(two.group.engine) as connection:
        kept = erased.entries_of(connection, aside["location_id"], other_id)
    house.erase(record_id)
    two.once()
    with read(two.group.engine) as connection:
        after = erased.entries_of(connection, aside["location_id"], other_id)
    assert after == kept and all(row["payload"] is not None for row in kept)
    assert photographs(two) == {"set_aside": True, "current": False}
    assert verify_log(two.group.engine)["ok"]


def came_again(two, backup):
    """Erase a photograph's record; let it come again for another, and set that aside."""
    make, back = backup
    house = House(two.practice)
    record_id, tablet = house.record()
    third_id, _ = house.record(tablet, picture=None)
    house.erase(record_id)
    two.once()
    made = make()
    house.record(tablet)
    two.once()
    assert photographs(two) == {"current": True}
    two.clock.advance(60)
    back(made)
    two.once()
    return third_id, House(two.practice)


def test_a_photograph_that_came_again_outlives_orders_about_other_records(two, backup):
    """The list of what is erased names it: nothing that is left of the log may lose it by that."""
    third_id, house = came_again(two, backup)
    assert photographs(two) == {"set_aside": True, "current": False}
    house.erase(third_id)
    two.once()
    assert photographs(two) == {"set_aside": True, "current": False}
    # Nothing is derived of a history that was set aside, also not on the way.
    [aside, _] = two.histories()
    with read(two.group.engine) as connection:
        used = attachment_uses.records_of(connection, aside["location_id"], sha256(PICTURE))
    assert used == []
    assert verify_log(two.group.engine)["ok"]


@pytest.mark.both_databases(long=True)
def test_an_order_inside_what_was_set_aside_spares_it_too(two):
    """The old disk came back, and its server erases a third record: nothing is derived there."""
    house = House(two.practice)
    record_id, tablet = house.record()
    third_id, _ = house.record(tablet, picture=None)
    house.erase(record_id)
    house.record(tablet)
    two.once()
    [history] = two.histories()
    with write(two.group.engine) as connection:
        followed.note(connection, history["location_id"], state=followed.SET_ASIDE)
        projecting.clear(connection, history["location_id"])
    house.erase(third_id)
    two.once()
    assert photographs(two) == {"set_aside": True}
    with read(two.group.engine) as connection:
        rows = erased.entries_of(connection, history["location_id"], third_id)
    assert rows and all(row["payload"] is None for row in rows)
    assert verify_log(two.group.engine)["ok"]


def test_a_list_alone_would_take_it_away(two, backup, monkeypatch):
    """The known-bad twin: the log is not asked who names it."""
    monkeypatch.setattr(attachment_uses, "put_of_log", lambda *_, **__: None)
    came_again(two, backup)
    assert photographs(two) == {"set_aside": False, "current": False}


def test_an_order_in_a_history_that_nothing_explains_reaches_no_other_until_it_counts(two, backup):
    """Whoever runs a second copy of a practice's server erases nothing at the group with it."""
    from api.group import taking

    record_id, _, house = put_back(two, backup)
    [aside, current] = two.histories()
    with write(two.group.engine) as connection:
        followed.note(connection, current["location_id"], state=followed.FORKED)
        projecting.clear(connection, current["location_id"])
    house.erase(record_id)
    from api.group.client import Refused

    with pytest.raises(Refused):
        two.once()
    with read(two.group.engine) as connection:
        rows = erased.entries_of(connection, aside["location_id"], record_id)
    assert all(row["payload"] is not None for row in rows)
    assert verify_log(two.group.engine)["ok"]
    # Once somebody has said that it is the one that counts, its orders do.
    with write(two.group.engine) as connection:
        history = followed.get(connection, current["location_id"])
        taking.put_in_force(connection, history, two.group.projectors)
    assert marks_in(two.group.engine) == {}
    assert verify_log(two.group.engine)["ok"]


def test_only_an_order_of_the_same_log_lets_go(two, backup):
    """The database itself asks: an order in a log of somebody else's lets go of nothing here."""
    record_id, _, _ = put_back(two, backup)
    [aside, current] = two.histories()
    with read(two.group.engine) as connection:
        row = erased.entries_of(connection, aside["location_id"], record_id)[0]
    listed = {"kind": erased.PAYLOAD, "what": row["event_id"], "sha256": None, "position": None}
    for by_location in (current["location_id"], "elsewhere"):
        with pytest.raises(DBAPIError), write(two.group.engine) as connection:
            # At its place stands no order.
            erased.note(
                connection,
                aside["location_id"],
                record_id,
                [listed],
                by_position=1,
                at="2026",
                by_location=by_location,
            )
            erased.take_away(connection, aside["location_id"], 1)
    with read(two.group.engine) as connection:
        assert jobs.of_record(connection, aside["location_id"], record_id) == []
