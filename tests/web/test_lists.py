"""Lists through the interface: published on a base, read by people, put aside at a tablet."""

import pytest

from api.demo.tablet_client import Refused

pytestmark = pytest.mark.both_databases(long=True)

ITEMS = [
    {"item_id": "patient", "text": "Patient by two identifiers", "not_applicable": "never"},
    {"item_id": "site", "text": "Site said aloud", "group": "Patient", "why": "Left is not right."},
]


def version(number: int, **more) -> dict:
    return {"kind": "time_out", "version": number, "title": "Time-out", "items": ITEMS, **more}


def the_list(desk) -> dict:
    [found] = desk.ask("GET", "/house?kind=list")["documents"]
    return found


def test_versions_at_a_desk(whole_practice):
    officer = whole_practice.desk("safety_officer")
    officer.command("list.published", "l1", version(1))
    later = version(2, effective_from="2030-01-01", needs_acknowledgement=True)
    officer.command("list.published", "l1", later, base_version=1)
    found = the_list(whole_practice.desk("clinician"))
    assert [one["version"] for one in found["versions"]] == [1, 2]
    assert found["versions"][0]["items"] == ITEMS
    assert found["versions"][1]["effective_from"] == "2030-01-01"


def test_a_desk_that_was_overtaken_is_told_and_nothing_is_written(whole_practice):
    officer = whole_practice.desk("safety_officer")
    officer.command("list.published", "l1", version(1))
    officer.command("list.published", "l1", version(2), base_version=1)
    with pytest.raises(Refused) as refused:
        officer.command("list.published", "l1", version(2, title="Mine"), base_version=1)
    assert (refused.value.code, refused.value.facts["status"]) == ("version_not_current", 409)
    assert (the_list(officer)["version"], the_list(officer)["drafts"]) == (2, [])


@pytest.mark.parametrize("role", ["clinician", "assistant", "front_desk", "manager", "auditor"])
def test_only_the_safety_officer_publishes(whole_practice, role):
    with pytest.raises(Refused) as refused:
        whole_practice.desk(role).command("list.published", "l1", version(1))
    assert refused.value.facts["status"] == 403


def test_people_say_that_they_have_read_it(whole_practice):
    whole_practice.desk("safety_officer").command(
        "list.published", "l1", version(1, needs_acknowledgement=True)
    )
    for role in ("clinician", "assistant", "clinician"):
        whole_practice.desk(role).command("list.acknowledged", "l1", {"version": 1})
    said = the_list(whole_practice.desk("manager"))["acknowledged_by"]
    assert len(said) == len({one["person_id"] for one in said}) == 2


def test_nothing_is_read_or_set_aside_that_there_is_not(whole_practice):
    officer = whole_practice.desk("safety_officer")
    for name, payload, more in (
        ("list.acknowledged", {"version": 1}, {}),
        ("list.set_aside", {"reason": "no"}, {"corrects": "e1"}),
    ):
        with pytest.raises(Refused) as refused:
            officer.command(name, "nowhere", payload, **more)
        assert refused.value.code == "list_unknown"


def test_what_a_tablet_published_on_an_old_version_waits_and_is_decided_about(whole_practice):
    officer = whole_practice.desk("safety_officer")
    officer.command("list.published", "l1", version(1))
    tablet = whole_practice.tablet("safety_officer")
    officer.command("list.published", "l1", version(2, title="From the desk"), base_version=1)
    mine = tablet.record(
        "list.published", "l1", version(2, title="From the tablet"), base_version=1
    )
    again = tablet.record("list.published", "l1", version(2, title="Once more"), base_version=1)
    tablet.push()
    found = the_list(officer)
    assert (found["version"], found["title"]) == (2, "From the desk")
    assert [one["title"] for one in found["drafts"]] == ["From the tablet", "Once more"]
    officer.command(
        "list.published",
        "l1",
        version(3, title="Both", from_draft=mine.item["event_id"]),
        base_version=2,
    )
    officer.command(
        "list.set_aside",
        "l1",
        {"reason": "the same again"},
        corrects=again.item["event_id"],
    )
    found = the_list(officer)
    assert (found["title"], found["drafts"]) == ("Both", [])
    assert [one["set_aside"]["reason"] for one in found["set_aside"]] == ["the same again"]
