"""Tablets in an administrator's hands: a code for a camera, a lost tablet, one enrolled again."""

import re

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.story import acts, looking
from tests.story.conftest import TABLET_SIZE, new_context
from tests.story.test_records import go

ADMINISTRATOR, CLINICIAN, FRONT_DESK = "standin", "placeholder", "demonstra"


@pytest.fixture
def tablets(server, desk: Page) -> Page:
    acts.desk_sign_in(desk, ADMINISTRATOR)
    desk.get_by_test_id("practice-tablets").click()
    expect(desk.get_by_test_id("code-make")).to_be_visible()
    return desk


def code_of(page: Page) -> str:
    before = page.get_by_test_id("code-text").all_inner_texts()
    page.get_by_test_id("code-make").click()
    for old in before:
        expect(page.get_by_test_id("code-text")).not_to_have_text(old)
    # Ten minutes, less what a busy machine takes to show them.
    left = re.compile(r"9:[0-5]\d")
    expect(page.get_by_test_id("code-left")).to_contain_text(left)
    return page.get_by_test_id("code-text").inner_text()


def one(page: Page, label: str):
    return page.get_by_test_id("tablet").filter(has_text=label)


def revoke(page: Page, label: str, reason: str) -> None:
    one(page, label).first.click()
    page.get_by_test_id("revoke-ask").click()
    page.get_by_test_id("revoke-reason").fill(reason)
    page.get_by_test_id("revoke-go").click()
    expect(page.get_by_test_id("tablet-revoked")).to_contain_text(reason)


def test_a_camera_opens_the_form_with_the_code_and_the_list_hears_of_it(
    server, browser: Browser, tablets: Page
):
    code = code_of(tablets)
    wrong = looking.look(tablets, "tablets with a code")
    # With a worker: what it asks for is looked at, too.
    context = new_context(browser, server, worker=True, viewport=TABLET_SIZE)
    asked: list[str] = []
    context.on("request", lambda request: asked.append(request.url))
    fresh = context.new_page()
    fresh.goto(f"/#/enrol/{code}")
    expect(fresh.get_by_test_id("enrol-code")).to_have_value(code)
    # The code is in no address: neither the one shown nor any that was asked for.
    assert code not in fresh.url
    fresh.get_by_test_id("enrol-label").fill("Room 7")
    fresh.get_by_test_id("enrol-go").click()
    expect(fresh.get_by_test_id("people")).to_be_visible()
    assert not [url for url in asked if code in url.split("#")[0]]
    expect(tablets.get_by_test_id("code-used")).to_contain_text("Room 7")
    expect(one(tablets, "Room 7")).to_contain_text("Enrolled")
    context.close()

    one(tablets, "Room 7").click()
    tablets.get_by_test_id("tablet-label").fill("Room 8")
    tablets.get_by_test_id("tablet-rename").click()
    expect(tablets.locator("h1")).to_have_text("Room 8")
    wrong += looking.look(tablets, "one tablet")
    assert not wrong, "\n".join(wrong)


def released_by_a_dentist(browser: Browser, server) -> list[str]:
    """Look into what was put aside and let it count; return what the looking found wrong."""
    context = new_context(browser, server, viewport=TABLET_SIZE)
    desk = context.new_page()
    desk.goto("/#/desk")
    acts.desk_sign_in(desk, CLINICIAN)
    go(desk, "practice", "aside")
    group = desk.get_by_test_id("aside-group").filter(has_text="90555")
    expect(group).to_contain_text("opened the case")
    group.get_by_test_id("aside-release").click()
    expect(group).to_contain_text("Please say why")
    group.get_by_label("Why you decide so").fill("It was found in our own car")
    wrong = looking.look(desk, "what was put aside, with patients")
    acts.touch_elsewhere(desk)
    group.get_by_test_id("aside-release").click()
    expect(desk.get_by_test_id("aside-said")).to_contain_text("Released")
    expect(group).to_have_count(0)
    desk.get_by_test_id("aside-which-decided").check()
    expect(desk.get_by_test_id("aside-decided").first).to_contain_text("our own car")
    wrong += looking.look(desk, "what was decided")
    context.close()
    return wrong


def test_a_lost_tablet_is_shut_out_and_comes_back_with_what_it_had_not_sent(
    server, browser: Browser, tablets: Page, tablet: Page
):
    acts.enrol(tablet, code_of(tablets), label="Lost one")
    acts.sign_in(tablet, CLINICIAN)
    acts.plan_from_preset(tablet, "Frenum, fine")
    acts.go_offline(tablet)
    acts.open_case(tablet, chart="90555", initials="LQ")
    go(tablet, "today")
    expect(tablet.get_by_test_id("sync-waiting")).to_contain_text("wait")
    # A reason is asked for, at the field.
    one(tablets, "Lost one").click()
    tablets.get_by_test_id("revoke-ask").click()
    tablets.get_by_test_id("revoke-go").click()
    expect(tablets.get_by_test_id("revoke-reason-wrong")).to_be_visible()
    tablets.get_by_test_id("tablets-back").click()
    revoke(tablets, "Lost one", "Left on a train")
    wrong = looking.look(tablets, "a revoked tablet")

    tablet.context.set_offline(False)
    # What was recorded on it is put aside, and nobody is left at its screens.
    expect(tablet.get_by_test_id("tablet-revoked")).to_be_visible(timeout=acts.ARRIVES_MS)
    # Its screen is shut before the last of it is handed in.
    acts.all_sent(tablet)
    tablets.get_by_test_id("tablets-back").click()
    tablets.get_by_test_id("tablets-refresh").click()
    expect(one(tablets, "Lost one")).to_contain_text("put aside")
    one(tablets, "Lost one").click()
    tablets.get_by_test_id("aside-open").click()
    expect(tablets.get_by_test_id("aside-why")).to_contain_text("The tablet had been revoked")
    # An administrator has no business in patients' records, and may decide all the same.
    assert "90555" not in tablets.locator("main").inner_text()
    expect(tablets.get_by_test_id("aside-release")).to_be_visible()
    wrong += looking.look(tablets, "what was put aside, without patients")
    wrong += released_by_a_dentist(browser, server)
    go(tablets, "practice", "tablets")
    tablet.get_by_test_id("again-open").click()
    wrong += looking.look(tablet, "a revoked tablet's door")
    tablet.get_by_test_id("again-code").fill("WRONG-WRONG")
    tablet.get_by_test_id("again-go").click()
    expect(tablet.get_by_test_id("again-wrong")).to_be_visible()
    tablet.get_by_test_id("again-code").fill(code_of(tablets))
    tablet.get_by_test_id("again-go").click()
    expect(tablet.get_by_test_id("people")).to_be_visible(timeout=acts.ARRIVES_MS)
    expect(tablet.get_by_test_id("tablet-revoked")).to_have_count(0)
    acts.sign_in(tablet, CLINICIAN)
    expect(tablet.get_by_test_id("sync-waiting")).to_have_text("Nothing waits to be sent")
    # What somebody has decided about needs nobody's attention here.
    expect(tablet.get_by_test_id("sync-attention")).to_have_count(0)
    tablet.get_by_test_id("open-case").filter(has_text="90555").click()
    acts.on_server(tablet)
    tablets.get_by_test_id("tablets-refresh").click()
    expect(one(tablets, "Lost one")).to_have_count(2)
    assert not wrong, "\n".join(wrong)


def test_only_administrators_have_the_tablets(server, desk: Page):
    acts.desk_sign_in(desk, FRONT_DESK)
    desk.get_by_test_id("nav-practice").click()
    expect(desk.get_by_test_id("practice-lists")).to_be_visible()
    expect(desk.get_by_test_id("practice-tablets")).to_have_count(0)
    go(desk, "practice", "tablets")
    expect(desk.locator("main")).to_contain_text(re.compile("role does not include"))
