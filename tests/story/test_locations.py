"""A practice grows to two locations: one is opened, people join it, and a desk goes to and fro."""

import re

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.story import acts
from tests.story.conftest import new_context
from tests.story.serving import Server
from tests.story.walk import to

ADMINISTRATOR, CLINICIAN, MANAGER = "standin", "placeholder", "exemplar"
NEW = "Pier room"
FIRST = acts.HOUSE["location"]["name"]


def at(desk: Page, place: str) -> None:
    """Wait until the desk is there, and says so."""
    expect(desk.get_by_test_id("place-name")).to_have_text(place)


def go(desk: Page, place: str) -> None:
    """Two presses."""
    desk.get_by_test_id("place").click()
    desk.get_by_test_id("place-option").filter(has_text=place).click()


def other_desk(browser: Browser, server: Server, key: str) -> Page:
    page = new_context(browser, server).new_page()
    page.goto("/#/desk")
    acts.desk_sign_in(page, key)
    return page


def test_a_second_location(desk: Page, browser: Browser, server: Server):
    acts.desk_sign_in(desk, ADMINISTRATOR)
    # With one location nobody has to be told which one it is.
    expect(desk.get_by_test_id("place")).to_have_count(0)
    to(desk, "#/practice/locations")
    expect(desk.get_by_test_id("location-row")).to_have_count(1)
    desk.get_by_test_id("location-new").click()
    desk.get_by_test_id("location-save").click()
    expect(desk.get_by_test_id("location-name-wrong")).to_be_visible()
    # A finger goes to the field first; else the next press would count as the first one's bounce.
    desk.get_by_test_id("location-name").click()
    desk.get_by_test_id("location-name").fill(FIRST.upper())
    desk.get_by_test_id("location-zone-search").fill("azor")
    desk.get_by_test_id("location-zone-atlantic-azores").check()
    desk.get_by_test_id("location-save").click()
    # Refused at its field, and nothing typed is lost.
    expect(desk.get_by_test_id("location-name-wrong")).to_contain_text("is called so already")
    expect(desk.get_by_test_id("location-zone-atlantic-azores")).to_be_checked()
    desk.get_by_test_id("location-name").click()
    desk.get_by_test_id("location-name").fill(NEW)
    desk.get_by_test_id("location-save").click()
    expect(desk.get_by_test_id("location-opened")).to_contain_text(NEW)
    expect(desk.get_by_test_id("location-row")).to_have_count(2)
    at(desk, FIRST)

    go(desk, NEW)
    at(desk, NEW)
    to(desk, "#/practice/people")
    # Nobody of the first location is here but who opened it.
    expect(desk.get_by_test_id("person-row")).to_have_count(1)
    desk.get_by_test_id("person-elsewhere").click()
    dentist = acts.person(CLINICIAN)["display_name"]
    desk.get_by_test_id("elsewhere-row").filter(has_text=dentist).click()
    expect(desk.get_by_test_id("person-name")).to_have_value(dentist)
    desk.get_by_test_id("join-save").click()
    expect(desk.get_by_test_id("person-roles-wrong")).to_be_visible()
    desk.get_by_test_id("role-assistant").check()

    # What is chosen and not saved is not left without a word.
    go(desk, FIRST)
    expect(desk.get_by_test_id("place-typed")).to_be_visible()
    desk.get_by_test_id("place-stay").click()
    expect(desk.get_by_test_id("role-assistant")).to_be_checked()
    desk.get_by_test_id("join-save").click()
    expect(desk.get_by_test_id("person-roles")).to_have_text("Assistant")

    # The same sign-in leads the dentist to either, and to what they are there.
    dentist_desk = other_desk(browser, server, CLINICIAN)
    at(dentist_desk, FIRST)
    expect(dentist_desk.get_by_test_id("queue-row").first).to_be_visible()
    second = dentist_desk.context.new_page()
    second.goto("/#/records")
    expect(second.get_by_test_id("record").first).to_be_visible()
    go(dentist_desk, NEW)
    at(dentist_desk, NEW)
    expect(dentist_desk.get_by_test_id("queue-empty")).to_be_visible()
    # The other tab still shows the first location, and is told so before anything is sent there.
    second.get_by_test_id("desk-search-go").click()
    expect(second.get_by_test_id("moved-on")).to_be_visible()
    second.get_by_test_id("moved-reload").click()
    at(second, NEW)
    dentist_desk.context.close()


@pytest.mark.long
def test_an_emergency_leads_to_records_of_the_other_location(browser: Browser, server: Server):
    reader = other_desk(browser, server, ADMINISTRATOR)
    # Where the story before left this administrator; they have a role at both, others have not.
    at(reader, NEW)
    to(reader, "#/practice/people/new")
    reader.get_by_test_id("person-name").fill("Wren Tryout")
    reader.get_by_test_id("person-initials").fill("WT")
    reader.get_by_test_id("role-front_desk").check()
    reader.get_by_test_id("person-save").click()
    reader.get_by_test_id("link-invite").click()
    link = reader.get_by_test_id("link-address")
    expect(link).to_have_value(re.compile("/#/welcome/"))
    address = link.input_value()
    reader.context.close()

    page = new_context(browser, server).new_page()
    page.goto(address)
    page.get_by_test_id("welcome-name").click()
    page.get_by_test_id("welcome-name").fill("wren")
    for field in ("welcome-password", "welcome-repeat"):
        page.get_by_test_id(field).fill("nine small grey pebbles")
    page.get_by_test_id("welcome-go").click()
    page.get_by_test_id("welcome-to-desk").click()
    page.get_by_test_id("desk-name").fill("wren")
    page.get_by_test_id("desk-password").fill("nine small grey pebbles")
    page.get_by_test_id("desk-go").click()
    page.get_by_test_id("nav-practice").click()
    page.get_by_test_id("emergency-elsewhere").click()
    page.get_by_test_id("elsewhere-go").click()
    expect(page.get_by_test_id("elsewhere-reason-wrong")).to_be_visible()
    page.get_by_label(FIRST).check()
    page.get_by_test_id("elsewhere-reason").fill("Bleeds here, was treated there")
    page.get_by_test_id("elsewhere-go").click()
    at(page, FIRST)
    expect(page.get_by_test_id("emergency-open")).to_be_visible()
    expect(page.get_by_test_id("nav-practice")).to_have_count(0)
    page.get_by_test_id("record").first.click()
    expect(page.get_by_test_id("read-back")).to_be_visible()

    manager = other_desk(browser, server, MANAGER)
    alarm = manager.get_by_test_id("emergency-alarm")
    expect(alarm).to_contain_text(f"Wren Tryout ({NEW})")
    expect(alarm).to_contain_text("Bleeds here, was treated there")
    manager.context.close()

    page.get_by_test_id("emergency-back").click()
    expect(page.get_by_test_id("emergency-open")).to_have_count(0)
    # One location of their own: nobody has to be told which one it is.
    expect(page.get_by_test_id("place")).to_have_count(0)
    expect(page.get_by_test_id("queue-empty")).to_be_visible()
    page.context.close()
