"""The access log on screen: narrowed, paged, and saved, each of which is written down."""

from playwright.sync_api import Page, expect

from tests.story import acts, looking
from tests.story.test_records import go

SAFETY, ADMINISTRATOR, FRONT_DESK = "specimen", "standin", "demonstra"


def test_it_is_narrowed_paged_and_saved(server, desk: Page):
    page = desk
    acts.desk_sign_in(page, SAFETY)
    page.get_by_test_id("nav-practice").click()
    page.get_by_test_id("practice-log").click()
    expect(page.get_by_test_id("access")).to_have_count(50)
    wrong = looking.look(page, "access log")
    page.get_by_test_id("log-more").click()
    expect(page.get_by_test_id("access")).to_have_count(100)
    page.get_by_test_id("log-action").select_option("sign_in")
    page.get_by_test_id("log-look").click()
    expect(page.get_by_test_id("access").first).to_contain_text("Signed in")
    page.get_by_test_id("log-clear").click()
    page.get_by_test_id("log-chart").fill("Q-10023")
    page.get_by_test_id("log-look").click()
    expect(page.get_by_test_id("access").filter(has_text="Q-10023").first).to_be_visible()
    # The number is in no address.
    assert "10023" not in page.url
    page.get_by_test_id("access-record").first.click()
    expect(page.get_by_test_id("log-one-record")).to_be_visible()
    with page.expect_download() as saved:
        page.get_by_test_id("log-export").click()
    assert saved.value.suggested_filename == "access-log.csv"
    page.get_by_test_id("log-clear").click()
    expect(page.get_by_test_id("access").first).to_contain_text("Exported: access log")
    assert not wrong, "\n".join(wrong)


def test_an_administrator_sees_no_patient_in_it(server, desk: Page):
    acts.desk_sign_in(desk, ADMINISTRATOR)
    go(desk, "practice", "log")
    expect(desk.get_by_test_id("access")).to_have_count(50)
    expect(desk.get_by_test_id("log-chart")).to_have_count(0)
    assert "Q-1" not in desk.locator("main").inner_text()


def test_who_may_not_see_it_is_told_so(server, desk: Page):
    acts.desk_sign_in(desk, FRONT_DESK)
    expect(desk.get_by_test_id("queue-row").first).to_be_visible()
    go(desk, "practice", "log")
    expect(desk.locator("main")).to_contain_text("Your role does not include this")
    desk.get_by_test_id("nav-practice").click()
    expect(desk.get_by_test_id("practice-lists")).to_be_visible()
    expect(desk.get_by_test_id("practice-log")).to_have_count(0)
