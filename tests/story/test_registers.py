"""Eyewear is registered without a network, gets a label, and is read by the camera in a case."""

import pytest
from playwright.sync_api import Page, expect

from tests.story import acts, film, served
from tests.story.case_acts import OPERATOR, server_record
from tests.story.conftest import QUIET, chromium_path
from tests.story.looking import look

OFFICER = "fixtureby"


@pytest.fixture(scope="module")
def shown(tmp_path_factory):
    return tmp_path_factory.mktemp("camera") / "label.y4m"


@pytest.fixture(scope="module")
def browser(playwright, shown):
    started = playwright.chromium.launch(
        executable_path=chromium_path(), args=[*QUIET, *film.camera(shown)]
    )
    yield started
    started.close()


def to(page: Page, address: str) -> None:
    page.evaluate("to => { location.hash = to; }", address)


def something_goes_wrong(tablet: Page, case: str) -> None:
    """In the middle of a case: first aid before any field; the laser is out; back to the case."""
    acts.answer_timeout(tablet)
    to(tablet, f"#/case/{case}/pause")
    tablet.get_by_test_id("case-went-wrong").click()
    first_aid = tablet.get_by_test_id("first-aid")
    field = tablet.get_by_test_id("incident-form").locator("fieldset, .field").first
    expect(field).to_be_visible()
    expect(first_aid).to_be_in_viewport()
    assert first_aid.bounding_box()["y"] < field.bounding_box()["y"]
    tablet.get_by_test_id("incident-kind-eye-exposure").check()
    tablet.get_by_test_id("incident-harm-possible").check()
    tablet.get_by_test_id("incident-what").fill("The beam met a mirror")
    tablet.get_by_test_id("incident-take-out").check()
    tablet.get_by_test_id("incident-save").click()
    # What is lacking stands at its field, and what was typed stays.
    expect(tablet.get_by_test_id("incident-done-wrong")).to_be_visible()
    expect(tablet.get_by_test_id("incident-what")).to_have_value("The beam met a mirror")
    tablet.get_by_test_id("incident-done").fill("Stopped, key out; eye clinic")
    tablet.get_by_test_id("incident-save").click()
    expect(tablet.get_by_test_id("incident-facts")).to_contain_text("taken out of service")
    tablet.get_by_test_id("incident-case").click()
    expect(tablet.get_by_test_id("pass-start")).to_be_visible()


def test_a_label_is_printed_and_read_by_the_camera(server, tablet: Page, shown):
    acts.enrol(tablet, server.new_code())
    acts.sign_in(tablet, OPERATOR)
    tablet.get_by_test_id("lock").click()
    acts.sign_in(tablet, OFFICER)
    acts.go_offline(tablet)
    tablet.get_by_test_id("nav-practice").click()
    tablet.get_by_test_id("practice-registers").click()
    # In the demo one of the three pieces of room 2 was not found at the inventory.
    expect(tablet.get_by_test_id("eyewear-lacking")).to_have_count(1)
    tablet.get_by_test_id("register-eyewear").click()
    tablet.get_by_test_id("register-add").click()
    tablet.get_by_test_id("register-label").fill("Goggles 7")
    tablet.get_by_test_id("register-shortest-wavelength").fill("9000")
    tablet.get_by_test_id("register-longest-wavelength").fill("8")
    tablet.get_by_test_id("register-save").click()
    # What is wrong stands at its field, and nothing that was typed goes.
    expect(tablet.get_by_test_id("register-optical-density-wrong")).to_be_visible()
    expect(tablet.get_by_test_id("register-longest-wavelength-wrong")).to_be_visible()
    expect(tablet.get_by_test_id("register-label")).to_have_value("Goggles 7")
    assert look(tablet, "a form of a register, refused") == []
    tablet.get_by_test_id("register-longest-wavelength").fill("11500")
    tablet.get_by_test_id("register-optical-density").fill("5,5")
    tablet.get_by_test_id("register-room-id").select_option(label="Room 1")
    tablet.get_by_test_id("register-save").click()
    tablet.get_by_test_id("register-thing").filter(has_text="Goggles 7").click()
    tablet.get_by_test_id("inspect-outcome-passed").check()
    tablet.get_by_test_id("inspect-save").click()
    expect(tablet.get_by_test_id("register-history")).to_contain_text("Passed")

    # A laser by its label, where its checks are begun.
    to(tablet, "#/practice/registers/labels/device")
    laser = tablet.get_by_test_id("label")
    expect(laser).to_have_count(2)
    # On the sheet with the smallest labels of all.
    tablet.get_by_test_id("labels-sheet").select_option("a4-5x13")
    film.hold(laser.first, shown)
    to(tablet, "#/practice/checks")
    tablet.get_by_test_id("checks-scan-open").click()
    expect(tablet.get_by_test_id("checks-all")).to_be_visible()

    # Another thing's label is named as such; the piece's own is taken.
    to(tablet, "#/practice/registers/labels/eyewear")
    label = tablet.get_by_test_id("label").filter(has_text="Goggles 7")
    expect(label).to_have_count(1)
    goggles = label.get_attribute("data-says")
    tablet.get_by_test_id("lock").click()
    acts.sign_in(tablet, OPERATOR)
    acts.plan_from_preset(tablet, "Frenum, fine")
    acts.open_case(tablet, chart="Q-7700", initials="LB")
    case = tablet.evaluate("location.hash").split("/")[2]
    to(tablet, f"#/case/{case}/protection")
    # By the keyboard: the focus goes to the camera's section and comes back.
    tablet.get_by_test_id("worn-scan-0-open").press("Enter")
    expect(tablet.get_by_test_id("worn-scan-0-camera")).to_be_focused()
    expect(tablet.get_by_test_id("worn-scan-0-other")).to_contain_text("laser")
    tablet.get_by_test_id("worn-scan-0-close").click()
    expect(tablet.get_by_test_id("worn-scan-0-open")).to_be_focused()
    to(tablet, "#/practice/registers/labels/eyewear")
    film.hold(label, shown)
    to(tablet, f"#/case/{case}/protection")
    tablet.get_by_test_id("worn-scan-0-open").click()
    expect(tablet.get_by_test_id("worn-0").get_by_role("radio", name="Goggles 7")).to_be_checked()
    tablet.get_by_test_id("protection-save").click()
    # Before the time-out is answered a case shows nothing else.
    expect(tablet.get_by_test_id("timeout")).to_be_visible()

    something_goes_wrong(tablet, case)
    worn = server_record(server, tablet, "Q-7700")["protection"]["eyewear"]
    [piece] = [one for one in served.documents(server, "eyewear") if one["label"] == "Goggles 7"]
    assert goggles == f"dosebook:eyewear:{piece['eyewear_id']}"
    assert [one["outcome"] for one in piece["inspections"]] == ["passed"]
    assert worn[0] | {"wearer": None} == {
        "label": "Goggles 7",
        "wavelength": "9000-11500 nm",
        "optical_density": "5.5",
        "wearer": None,
        "eyewear_id": piece["eyewear_id"],
    }

    [incident] = served.documents(server, "incident")
    assert (incident["record_id"], incident["open_points"]) == (case, ["not_assessed"])
    [service] = served.documents(server, "device_service")
    assert service["device_id"] == incident["device_id"]
    assert service["causes"][0]["reason"].startswith("Incident: Eye hit")
