"""Which photographs go with a record, and which stay because something that is left names them."""

import pytest

from api.storage import attachments, event_store, renderings
from api.storage.engine import DBAPIError, is_postgresql, read, write
from tests.erasure import acts
from tests.erasure.acts import PICTURE, part_of, sha256
from tests.web.test_attachments import get, name

both_long = pytest.mark.both_databases(long=True)


def is_here(house) -> bool:
    with read(house.engine) as connection:
        return attachments.get(connection, house.location_id, sha256(PICTURE)) is not None


def put(house, tablet):
    assert acts.put(house.practice, tablet, PICTURE, named=False).status_code == 200


def put_aside(house, tablet, record_id) -> None:
    """Let a tablet be revoked that has still to hand in a photograph, and let it hand that in."""
    administrator = house.desk("administrator")
    administrator.ask(
        "POST", f"/tablets/{tablet.identity['tablet_id']}/revoke", {"reason": "Left on a train"}
    )
    name(tablet, PICTURE, record_id)
    put(house, tablet)


@both_long
def test_what_came_again_for_another_record_outlives_making_everything_anew(house):
    record_id, tablet = house.record()
    house.erase(record_id)
    assert not is_here(house)
    other_id, _ = house.record(tablet, picture=None)
    name(tablet, PICTURE, other_id)
    put(house, tablet)
    # Everything derived is made anew after an update; the erasure is then projected once more.
    house.rebuilt()
    assert is_here(house)
    assert get(house.practice, tablet).status_code == 200
    # And it goes with that record, although it was listed under another order before.
    house.erase(other_id)
    assert not is_here(house)
    house.work()
    assert house.rows_with(part_of(PICTURE).decode("latin-1")) == {}
    assert house.verified()["ok"]


@pytest.mark.long
@both_long
def test_what_was_added_again_to_the_same_record_outlives_it_too(house):
    record_id, tablet = house.record()
    house.erase(record_id)
    name(tablet, PICTURE, record_id)
    put(house, tablet)
    house.rebuilt()
    assert is_here(house)
    house.erase(record_id)
    assert not is_here(house)


@both_long
def test_the_photograph_of_an_entry_that_was_put_aside_goes_with_it(house):
    record_id, _ = house.record(picture=None)
    put_aside(house, house.practice.tablet("clinician"), record_id)
    seen = house.look(record_id)
    assert (seen["aside"], seen["photographs"]) == (1, 1)
    house.erase(record_id)
    assert not is_here(house)


@pytest.mark.long
@both_long
def test_what_was_put_aside_of_another_record_keeps_its_photograph(house):
    record_id, tablet = house.record()
    other_id, _ = house.record(tablet, picture=None)
    put_aside(house, house.practice.tablet("clinician"), other_id)
    house.erase(record_id)
    house.rebuilt()
    assert is_here(house)
    house.erase(other_id)
    assert not is_here(house)


@pytest.mark.long
@both_long
def test_what_is_handed_in_while_its_record_is_erased_does_not_stay(house, monkeypatch):
    """On a file one writer waits for the other; on a server both are under way at once."""
    if not is_postgresql(house.engine):
        return
    record_id, tablet = house.record(picture=None)
    name(tablet, PICTURE, record_id)
    really = attachments.put

    def put_late(*arguments, **named):
        house.erase(record_id)
        return really(*arguments, **named)

    monkeypatch.setattr(attachments, "put", put_late)
    answer = acts.put(house.practice, tablet, PICTURE, named=False)
    assert (answer.status_code, answer.json["code"]) == (409, "attachment_unnamed")
    assert not is_here(house)


@pytest.mark.long
@both_long
def test_while_a_paper_is_kept_nobody_erases_its_record(house, monkeypatch):
    if not is_postgresql(house.engine):
        return
    really, seen = renderings.put, []

    def put_watched(connection, location_id, *arguments, **named):
        with pytest.raises(DBAPIError), write(house.engine) as another:
            another.exec_driver_sql("SET LOCAL lock_timeout = '50ms'")
            event_store.lock_log(another, location_id)
        seen.append(location_id)
        return really(connection, location_id, *arguments, **named)

    monkeypatch.setattr(renderings, "put", put_watched)
    house.record(picture=None)
    assert seen == [house.location_id] * 2
