"""Maintenance and incidents through the whole program: documents, rights, what comes late."""

import pytest

from api.demo.tablet_client import Refused
from api.people.rights import ROLES
from tests.web.equipment import DEVICE
from tests.web.practice import Practice

WORK = {
    "device_id": "laser-1",
    "kind": "service",
    "done_on": "2026-03-01",
    "done_by": "A technician",
    "what": "Aligned",
    "parts": None,
    "power_before": {"expected": "4 W", "measured": "3.1 W"},
    "power_after": None,
    "certificates": [],
    "released_by": None,
    "restarts_trend": True,
    "next_due_on": None,
}
INCIDENT = {
    "happened_at": "2026-03-02T08:30:00.000+00:00",
    "kind": "eye_exposure",
    "harm": "possible",
    "what": "The beam met a mirror",
    "people": [{"role": "assistant", "person_id": None}],
    "device_id": "laser-1",
    "handpiece_id": None,
    "settings": None,
    "settings_text": "4 W continuous",
    "record_id": None,
    "done_at_once": "Stopped; eye clinic",
    "device_taken_out": False,
}
NO_REPORT = {
    "reportable": "no",
    "reasons": "Eye found unharmed",
    "citation": None,
    "to_whom": None,
    "report_by": None,
    "reported_on": None,
}
ACTION = {
    "action_id": "a-1",
    "what": "Cover it",
    "who_id": None,
    "by_day": None,
    "done_on": None,
}


@pytest.fixture
def house(app, clock):
    practice = Practice(app, clock, roles=ROLES)
    officer = practice.desk("safety_officer")
    officer.command("device.registered", "laser-1", DEVICE)
    return practice, officer


def document(desk, kind, doc_id):
    found = desk.ask("GET", f"/house?kind={kind}")["documents"]
    return next((one for one in found if one[f"{kind}_id"] == doc_id), None)


def settling(incident_id):
    """What only those who answer for an incident say of it."""
    return (
        ("incident.assessed", incident_id, NO_REPORT),
        ("incident.action_set", incident_id, ACTION),
        ("incident.closed", incident_id, {"conclusion": "Covered"}),
        ("incident.reopened", incident_id, {"reason": "A second mirror"}),
    )


def test_work_is_corrected_and_taken_back(house):
    _, officer = house
    officer.command("maintenance.recorded", "work-1", WORK)
    officer.command("maintenance.recorded", "work-1", {**WORK, "what": "Aligned and cleaned"})
    found = document(officer, "maintenance", "work-1")
    assert (found["status"], found["what"]) == ("current", "Aligned and cleaned")
    assert found["power_before"] == {"expected": "4 W", "measured": "3.1 W"}
    officer.command("maintenance.withdrawn", "work-1", {"reason": "It was the other laser"})
    found = document(officer, "maintenance", "work-1")
    assert (found["status"], found["what"]) == ("withdrawn", "Aligned and cleaned")
    assert found["withdrawn"]["reason"] == "It was the other laser"


def test_who_may_say_what(house):
    """Everybody but an auditor records, two roles settle, two keep lasers; all of them read."""
    practice, officer = house
    officer.command("incident.recorded", "known", INCIDENT)
    for role in ROLES:
        desk = practice.desk(role)
        assert _taken(desk, "incident.recorded", f"by-{role}", INCIDENT) is (role != "auditor")
        settles = role in {"safety_officer", "manager"}
        assert {_taken(desk, *one) for one in settling("known")} == {settles}, role
        assert _taken(desk, "maintenance.recorded", f"work-{role}", WORK) is (
            role in {"safety_officer", "administrator"}
        )
        assert document(desk, "incident", "known")["what"] == "The beam met a mirror"


def _taken(desk, type, entity_id, payload):
    """Whether the server takes it; else it says that it is forbidden."""
    try:
        desk.command(type, entity_id, payload)
    except Refused as refused:
        assert refused.facts["status"] == 403
        return False
    return True


def test_a_closing_that_comes_late(house):
    practice, officer = house
    tablet = practice.tablet("safety_officer")
    tablet.record("incident.recorded", "case-1", INCIDENT)
    tablet.push()
    assert document(officer, "incident", "case-1")["open_points"] == ["not_assessed"]
    practice.clock.advance(60)
    tablet.record("incident.assessed", "case-1", NO_REPORT)
    tablet.record("incident.closed", "case-1", {"conclusion": "Covered"})
    # Before the tablet hands this in, somebody at a desk adds what is still to be done.
    practice.clock.advance(60)
    officer.command("incident.action_set", "case-1", ACTION)
    tablet.push()
    found = document(officer, "incident", "case-1")
    assert (found["status"], found["open_points"]) == ("closed", ["action_open"])
    practice.clock.advance(60)
    officer.command("incident.reopened", "case-1", {"reason": "Something is still to be done"})
    officer.command("incident.action_set", "case-1", {**ACTION, "done_on": "2026-03-02"})
    found = document(officer, "incident", "case-1")
    assert (found["status"], found["open_points"]) == ("open", [])


def test_a_closing_from_before_a_reopening_leaves_it_open(house):
    practice, officer = house
    tablet = practice.tablet("safety_officer")
    officer.command("incident.recorded", "case-1", INCIDENT)
    officer.command("incident.assessed", "case-1", NO_REPORT)
    practice.clock.advance(60)
    tablet.record("incident.closed", "case-1", {"conclusion": "Covered"})
    practice.clock.advance(60)
    officer.command("incident.closed", "case-1", {"conclusion": "Eye unharmed"})
    practice.clock.advance(60)
    officer.command("incident.reopened", "case-1", {"reason": "A second visitor"})
    tablet.push()
    found = document(officer, "incident", "case-1")
    assert found["status"] == "open"
    assert [(one["turn"], one["text"]) for one in found["turns"]] == [
        ("closed", "Covered"),
        ("closed", "Eye unharmed"),
        ("reopened", "A second visitor"),
    ]


def test_an_incident_and_its_laser_from_a_tablet(house):
    practice, officer = house
    tablet = practice.tablet("clinician")
    tablet.record("incident.recorded", "case-1", {**INCIDENT, "device_taken_out": True})
    tablet.record(
        "device.taken_out",
        "laser-1",
        {"reason_code": "other", "reason": "Incident", "key_held_by": None},
    )
    tablet.push()
    [service] = officer.ask("GET", "/house?kind=device_service")["documents"]
    [cause] = service["causes"]
    assert cause["by"] == practice.people["clinician"]
    assert document(officer, "incident", "case-1")["by"] == practice.people["clinician"]


def test_what_a_tablet_may_not_close_is_put_aside(house):
    practice, officer = house
    tablet = practice.tablet("assistant")
    tablet.record("incident.recorded", "case-1", INCIDENT)
    tablet.record("incident.closed", "case-1", {"conclusion": "Nothing"})
    outcomes = [one["outcome"] for one in tablet.push()]
    assert outcomes == ["applied", "quarantined"]
    assert document(officer, "incident", "case-1")["status"] == "open"
