"""An administrator opens records in an emergency; a manager is told until somebody has seen it."""

from playwright.sync_api import Browser, Page, expect

from tests.story import acts, looking
from tests.story.conftest import new_context
from tests.story.serving import Server


def test_records_open_in_an_emergency_and_those_who_answer_for_the_practice_are_told(
    desk: Page, browser: Browser, server: Server, tablet: Page
):
    acts.enrol(tablet, server.new_code())
    acts.sign_in(tablet, "fixtureby")
    acts.desk_sign_in(desk, "standin")
    expect(desk.get_by_test_id("nav-records")).to_have_count(0)
    desk.get_by_test_id("emergency-offer").click()
    desk.get_by_test_id("emergency-go").click()
    expect(desk.get_by_test_id("emergency-reason-wrong")).to_be_visible()
    desk.get_by_test_id("emergency-reason").click()
    desk.get_by_test_id("emergency-reason").fill("The dentist is not to be reached")
    desk.get_by_test_id("emergency-go").click()
    expect(desk.get_by_test_id("emergency-open")).to_be_visible()
    desk.get_by_test_id("record").first.click()
    expect(desk.get_by_test_id("read-back")).to_be_visible()
    context = new_context(browser, server)
    manager = context.new_page()
    manager.goto("/#/desk")
    acts.desk_sign_in(manager, "exemplar")
    alarm = manager.get_by_test_id("emergency-alarm")
    expect(alarm).to_contain_text(acts.person("standin")["display_name"])
    expect(alarm).to_contain_text("The dentist is not to be reached")
    # A tablet is told by its next contact, without anybody asking, and only who answers for it.
    told = tablet.get_by_test_id("emergency-alarm")
    expect(told).to_contain_text("The dentist is not to be reached", timeout=60_000)
    expect(told).to_contain_text(acts.person("standin")["display_name"])
    wrong = looking.look(tablet, "an emergency on a tablet")
    acts.go_offline(tablet)
    told.get_by_test_id("emergency-seen").click()
    expect(told).to_have_count(0)
    manager.get_by_test_id("emergency-seen").click()
    expect(alarm).to_have_count(0)
    tablet.context.set_offline(False)
    expect(tablet.get_by_test_id("sync-waiting")).to_have_text(
        "Nothing waits to be sent", timeout=60_000
    )
    expect(told).to_have_count(0)
    assert not wrong, "\n".join(wrong)
    context.close()
