"""A record says so when its preset had been withdrawn, whichever of the two arrived first."""

import pytest
from sqlalchemy import event

from tests.web.equipment import preset

pytestmark = pytest.mark.both_databases(long=True)

WORDS = "Pass 1: version 1 of the preset “Frenum, fine” had been withdrawn on 2026-11-25: too deep"


def used(practice, tablet, **more):
    """Record a procedure whose pass used version 1 of the preset p1."""
    return practice.signed_record(
        tablet,
        kind="kind-1",
        preset={"preset_id": "p1", "version": 1, "name": "Frenum, fine", **more},
    )


def flags_of(desk, record_id):
    return {one["code"]: one["text"] for one in desk.ask("GET", f"/records/{record_id}")["flags"]}


def withdraw(practice, tablet, **body):
    practice.clock.advance(60)
    return tablet.record("preset.withdrawn", "p1", {"reason": "too deep"}, **body)


@pytest.fixture
def published(equipped):
    practice, dentist = equipped
    dentist.command("preset.published", "p1", preset(practice))
    return practice, dentist


def test_used_after_the_withdrawal(published):
    practice, dentist = published
    tablet = practice.tablet("clinician")
    withdraw(practice, tablet)
    practice.clock.advance(60)
    record_id = used(practice, tablet)
    tablet.push()
    found = flags_of(dentist, record_id)
    assert list(found) == ["preset_withdrawn"]
    day = practice.clock.now().date().isoformat()
    assert found["preset_withdrawn"] == WORDS.replace("2026-11-25", day)


def test_used_before_the_withdrawal(published):
    practice, dentist = published
    tablet = practice.tablet("clinician")
    record_id = used(practice, tablet)
    withdraw(practice, tablet)
    tablet.push()
    assert flags_of(dentist, record_id) == {}


def test_the_withdrawal_arrives_after_the_record(published):
    practice, dentist = published
    quick, slow = practice.tablet("clinician"), practice.tablet("clinician")
    withdraw(practice, slow)
    practice.clock.advance(60)
    record_id = used(practice, quick)
    quick.push()
    assert flags_of(dentist, record_id) == {}
    slow.push()
    assert list(flags_of(dentist, record_id)) == ["preset_withdrawn"]
    # It is there for the lists and for the tablets too, and the record itself is unchanged.
    [row] = [
        row
        for row in dentist.ask("POST", "/records/search", {})["records"]
        if row["record_id"] == record_id
    ]
    assert (row["flags"], row["status"]) == (["preset_withdrawn"], "signed")


def test_a_later_version_is_not_touched_by_the_withdrawal_of_an_earlier_one(published):
    practice, dentist = published
    tablet = practice.tablet("clinician")
    withdraw(practice, tablet, base_version=1)
    tablet.push()
    gone = dentist.ask("GET", "/house?kind=preset")["documents"][0]["withdrawn"]["event_id"]
    dentist.ask(
        "POST",
        "/commands/preset.published",
        {
            "entity_id": "p1",
            "payload": preset(practice, version=2),
            "base_version": 1,
            "corrects": gone,
        },
        **{"Idempotency-Key": "key-00000001"},
    )
    practice.clock.advance(60)
    record_id = used(practice, tablet, version=2)
    tablet.push()
    assert flags_of(dentist, record_id) == {}


def test_used_as_one_tablet_had_it(published):
    practice, dentist = published
    second = practice.tablet("clinician")
    draft = second.record(
        "preset.published",
        "p1",
        preset(practice, version=2, note="mine"),
        base_version=1,
    )
    record_id = used(practice, second, version=2, event_id=draft.item["event_id"])
    dentist.command(
        "preset.published", "p1", preset(practice, version=2, note="theirs"), base_version=1
    )
    second.push()
    assert list(flags_of(dentist, record_id)) == ["preset_not_in_force"]


def test_publishing_reads_no_records_where_nothing_became_of_the_preset(equipped):
    """A file publishes hundreds at once, and nobody else writes meanwhile."""
    practice, dentist = equipped
    asked = []

    def hear(_connection, _cursor, statement, *_):
        asked.append(statement)

    def walks_over_records():
        found = sum("LIKE" in one for one in asked)
        asked.clear()
        return found

    event.listen(practice.house.engine, "before_cursor_execute", hear)
    dentist.command("preset.published", "p1", preset(practice))
    assert asked and walks_over_records() == 0
    dentist.command("preset.withdrawn", "p1", {"reason": "too deep"})
    assert walks_over_records() == 1
    event.remove(practice.house.engine, "before_cursor_execute", hear)
