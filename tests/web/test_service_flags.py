"""A laser out of service: its document, and what its records say of it, in any order of arrival."""

import pytest

from api.demo.tablet_client import Refused
from tests.web.equipment import DEVICE, TIP
from tests.web.laser_cases import a_pass, opening
from tests.web.practice import Practice
from tests.web.test_preset_flags import flags_of

NOT_KNOWN, NOT_OVERRIDDEN = "out_of_service_not_known", "out_of_service_not_overridden"
OVERRIDDEN = "out_of_service_overridden"
MEANWHILE = "out_of_service_meanwhile"
MEANWHILE_NOT_KNOWN = "out_of_service_meanwhile_not_known"


def verification(power="2.8 W", *, verdict="fail"):
    """Of 4 W and 8 W; with 2.8 W and 5.6 W the ratio is 0.7 by hand."""
    double = f"{float(power.split()[0]) * 2:g} W"
    ratio = f"{float(power.split()[0]) / 4:g}"
    return {
        "device_id": "laser-1",
        "handpiece_id": "tip-1",
        "mode": "continuous",
        "meter": {"label": "Meter", "serial": "7", "calibrated_on": "2026-01-31"},
        "readings": [
            {"settings": {}, "expected_average_power": "4 W", "measured": [power] * 3},
            {"settings": {}, "expected_average_power": "8 W", "measured": [double] * 3},
        ],
        "ratio": ratio,
        "ratio_uncertainty": "0.015",
        "meter_uncertainty": "0.03",
        "verdict": verdict,
        "rule": "a rule",
        "note": None,
    }


def state_of(desk, device_id="laser-1"):
    found = desk.ask("GET", "/house?kind=device_service")["documents"]
    return {one["device_id"]: one for one in found}.get(device_id)


def fails(practice, tablet):
    practice.clock.advance(60)
    event = tablet.record("verification.recorded", tablet.new_id(), verification())
    practice.clock.advance(60)
    return event.item["event_id"]


@pytest.fixture
def house(app, clock):
    """A practice with a laser; its dentist's desk, and two tablets of the dentist's."""
    practice = Practice(app, clock, roles=("clinician", "safety_officer"))
    officer = practice.desk("safety_officer")
    officer.command("device.registered", "laser-1", DEVICE)
    officer.command("handpiece.registered", "tip-1", TIP)
    dentist = practice.desk("clinician")
    return practice, dentist, practice.tablet("clinician"), practice.tablet("clinician")


def test_a_case_of_the_tablet_that_found_it(house):
    practice, dentist, tablet, _ = house
    fails(practice, tablet)
    record_id = practice.signed_record(tablet)
    tablet.push()
    assert list(flags_of(dentist, record_id)) == [NOT_OVERRIDDEN]
    [cause] = state_of(dentist)["causes"]
    assert (cause["kind"], cause["ratio"]) == ("verification", "0.7")


@pytest.mark.parametrize("first", ["failure", "record"])
def test_a_case_of_a_tablet_that_had_not_heard(house, first):
    practice, dentist, one, other = house
    fails(practice, one)
    record_id = practice.signed_record(other)
    for tablet in (one, other) if first == "failure" else (other, one):
        tablet.push()
    found = flags_of(dentist, record_id)
    assert list(found) == [NOT_KNOWN]
    assert "not known on the tablet then" in found[NOT_KNOWN]


def test_a_case_from_before_the_failure(house):
    practice, dentist, tablet, _ = house
    record_id = practice.signed_record(tablet)
    fails(practice, tablet)
    tablet.push()
    assert flags_of(dentist, record_id) == {}


def test_a_case_with_an_override_says_why(house):
    practice, dentist, tablet, _ = house
    failed = fails(practice, tablet)
    record_id = practice.signed_record(tablet, overridden=failed)
    tablet.push()
    found = flags_of(dentist, record_id)
    assert list(found) == [OVERRIDDEN]
    assert "Bleeding that nothing else here stops" in found[OVERRIDDEN]
    [override] = dentist.ask("GET", f"/records/{record_id}")["overrides"]
    assert override["causes"][0]["event_id"] == failed


def test_released_by_two_people_and_failing_again_offline(house):
    practice, dentist, tablet, offline = house
    failed = fails(practice, tablet)
    tablet.push()
    good = tablet.record(
        "verification.recorded", tablet.new_id(), verification("3.9 W", verdict="ok")
    )
    tablet.push()
    practice.clock.advance(60)
    fails(practice, offline)
    officer = practice.desk("safety_officer")
    officer.command(
        "device.release_asked",
        "laser-1",
        {"causes": [failed], "tests": [good.item["event_id"]], "done": "Cleaned"},
    )
    [asked] = [
        one["event_id"]
        for one in state_of(dentist)["entries"]
        if one["type"] == "device.release_asked"
    ]
    practice.clock.advance(60)
    dentist.command("device.released", "laser-1", {"asked": asked, "note": None})
    [cause] = state_of(dentist)["causes"]
    assert cause["cleared"]["by"] == practice.people["clinician"]
    record_id = practice.signed_record(tablet)
    tablet.push()
    assert flags_of(dentist, record_id) == {}
    # What another tablet found before that without a network comes in only now.
    offline.push()
    assert [bool(one.get("cleared")) for one in state_of(dentist)["causes"]].count(False) == 1
    assert list(flags_of(dentist, record_id)) == [NOT_KNOWN]


def a_case_with_two_passes(practice, tablet, *, meanwhile=lambda: None, before=lambda: None):
    """Record a procedure in whose middle something happens, and send it; return its id."""
    record_id = tablet.new_id()
    said = opening(tablet, practice.clock.now(), "laser-1", "tip-1", "C-77")
    tablet.record("procedure.opened", record_id, said)
    for number in (1, 2):
        practice.clock.advance(60)
        tablet.record("pass.started", record_id, a_pass(number, "tip-1", "continuous"))
        if number == 1:
            meanwhile()
    practice.clock.advance(60)
    before()
    tablet.push()
    return record_id


def test_a_laser_that_fails_in_the_middle_of_a_case(house):
    practice, dentist, tablet, _ = house
    record_id = a_case_with_two_passes(practice, tablet, meanwhile=lambda: fails(practice, tablet))
    found = flags_of(dentist, record_id)
    assert list(found) == [MEANWHILE]
    assert found[MEANWHILE].endswith("Passes made after that: 2.")


@pytest.mark.parametrize("first", ["failure", "record"])
def test_a_failure_in_the_middle_of_a_case_that_its_tablet_had_not_heard_of(house, first):
    practice, dentist, tablet, other = house
    record_id = a_case_with_two_passes(
        practice,
        tablet,
        meanwhile=lambda: fails(practice, other),
        before=other.push if first == "failure" else lambda: None,
    )
    if first == "record":
        assert flags_of(dentist, record_id) == {}
        other.push()
    assert list(flags_of(dentist, record_id)) == [MEANWHILE_NOT_KNOWN]


def test_a_failure_after_the_last_pass_of_a_case(house):
    practice, dentist, tablet, _ = house
    record_id = a_case_with_two_passes(practice, tablet)
    fails(practice, tablet)
    tablet.push()
    assert flags_of(dentist, record_id) == {}


def test_a_failed_check_said_again_as_passed_under_its_id_still_stands(house):
    practice, dentist, tablet, _ = house
    verification_id = tablet.new_id()
    tablet.record("verification.recorded", verification_id, verification())
    practice.clock.advance(60)
    again = verification("3.9 W", verdict="ok")
    tablet.record("verification.recorded", verification_id, again)
    tablet.push()
    found = dentist.ask("GET", "/house?kind=verification")["documents"]
    assert sorted(one["verdict"] for one in found) == ["fail", "ok"]
    assert len({one["verification_id"] for one in found}) == 2
    [cause] = state_of(dentist)["causes"]
    assert (cause["ratio"], cause.get("cleared")) == ("0.7", None)


def test_a_laser_registered_anew_under_another_id_is_the_same_laser(house):
    practice, dentist, tablet, _ = house
    failed = fails(practice, tablet)
    tablet.push()
    officer = practice.desk("safety_officer")
    again = {**DEVICE, "label": "Laser, again", "serial": f" {DEVICE['serial'].lower()} "}
    officer.command("device.registered", "laser-2", again)
    assert [one["event_id"] for one in state_of(dentist, "laser-2")["causes"]] == [failed]
    # What lets it back is said under either id, and counts for both.
    right = verification("3.9 W", verdict="ok") | {"device_id": "laser-2"}
    practice.clock.advance(60)
    good = tablet.record("verification.recorded", tablet.new_id(), right)
    tablet.push()
    said = {"causes": [failed], "tests": [good.item["event_id"]], "done": "Cleaned"}
    practice.clock.advance(60)
    officer.command("device.release_asked", "laser-2", said)
    [asked] = [one["event_id"] for one in state_of(dentist, "laser-2")["entries"]]
    practice.clock.advance(60)
    dentist.command("device.released", "laser-2", {"asked": asked, "note": None})
    for device_id in ("laser-1", "laser-2"):
        [cause] = state_of(dentist, device_id)["causes"]
        assert cause["cleared"]["by"] == practice.people["clinician"]
    # It was another laser after all: nothing stands against that one.
    officer.command("device.registered", "laser-2", {**again, "serial": "another one"})
    assert state_of(dentist, "laser-2")["causes"] == []
    assert len(state_of(dentist)["causes"]) == 1


def test_who_may_not_release(house):
    practice, dentist, tablet, _ = house
    failed = fails(practice, tablet)
    tablet.push()
    said = {"causes": [failed], "tests": ["e"], "done": "Nothing"}
    with pytest.raises(Refused) as refused:
        dentist.command("device.release_asked", "laser-1", said)
    assert refused.value.facts["status"] == 403
