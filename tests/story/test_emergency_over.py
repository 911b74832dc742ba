"""What was opened in an emergency closes by itself after its hour, at the desk where it stands."""

import shutil

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.story import acts, looking
from tests.story.conftest import TABLET_SIZE, new_context
from tests.story.stepped import PutOnServer, served

MINUTE_S = 60


@pytest.fixture
def clocked(tmp_path, loaded):
    """A served demo practice whose clock the story puts on."""
    data = tmp_path / "practice"
    shutil.copytree(loaded, data)
    with served(data) as server:
        yield server


def goes_by(page: Page, server: PutOnServer, minutes: int) -> None:
    """Let the time go by, at the server and at the desk."""
    server.put_on(minutes * MINUTE_S)
    page.clock.fast_forward(minutes * MINUTE_S * 1000)


def works_on(page: Page, server: PutOnServer, minutes: int) -> None:
    """Work at the desk for so long: it tells the server so, else it is left after half an hour."""
    told = page.expect_response(
        lambda answer: answer.url.endswith("/api/v1/session"), timeout=acts.ARRIVES_MS
    )
    with told:
        goes_by(page, server, minutes)
    page.keyboard.press("Shift")


def test_after_its_hour_the_records_close_by_themselves(clocked: PutOnServer, browser: Browser):
    context = new_context(browser, clocked, viewport=TABLET_SIZE)
    desk = context.new_page()
    desk.clock.install()
    desk.goto("/#/desk")
    acts.desk_sign_in(desk, "standin")
    desk.get_by_test_id("emergency-offer").click()
    desk.get_by_test_id("emergency-reason").fill("The dentist is not to be reached")
    desk.get_by_test_id("emergency-go").click()
    desk.get_by_test_id("record").first.click()
    expect(desk.get_by_test_id("read-back")).to_be_visible()
    record_id = desk.url.split("/records/")[1].split("/")[0]
    for _ in range(2):
        works_on(desk, clocked, 25)
    # Fifty minutes on it is open still.
    expect(desk.get_by_test_id("emergency-open")).to_be_visible()
    expect(desk.get_by_test_id("read-back")).to_be_visible()
    goes_by(desk, clocked, 11)
    expect(desk.get_by_test_id("emergency-over")).to_be_visible()
    expect(desk.get_by_test_id("emergency-open")).to_have_count(0)
    # What was read is gone from the screen, and so is the way to it; the person is signed in still.
    expect(desk.get_by_test_id("read-back")).to_have_count(0)
    expect(desk.get_by_test_id("nav-records")).to_have_count(0)
    expect(desk.get_by_test_id("desk-sign-out")).to_be_visible()
    assert desk.request.get(f"/api/v1/records/{record_id}").status == 403
    assert looking.rule_breaches(desk) + looking.sideways(desk) == []
    context.close()
