"""A test cut and a cleaning without a network: guided, kept through a reload, seen at the desk."""

from playwright.sync_api import Page, expect

from tests.story import acts, looking

ASSISTANT, OFFICER = "dummyfield", "fixtureby"
LASER, TIP = "Laser with the arm", "Handpiece, fine focus"


def open_trend(page: Page) -> None:
    page.get_by_test_id("nav-practice").click()
    page.get_by_test_id("practice-power").click()
    page.get_by_test_id("power-laser").filter(has_text=LASER).click()
    page.get_by_test_id("power-trend").click()
    expect(page.get_by_test_id("trend-0-meaning")).to_be_visible()


def test_a_cut_and_a_cleaning_are_recorded_offline(server, tablet: Page, desk: Page):
    acts.enrol(tablet, server.new_code())
    acts.sign_in(tablet, ASSISTANT)
    acts.go_offline(tablet)
    open_trend(tablet)
    newest = tablet.get_by_test_id("trend-0-chosen").inner_text()
    tablet.get_by_test_id("trend-0-before").click()
    expect(tablet.get_by_test_id("trend-0-chosen")).not_to_have_text(newest)
    tablet.get_by_test_id("trend-0-table-open").click()
    wrong = looking.look(tablet, "the trend of a laser")

    tablet.get_by_test_id("trend-set-up").click()
    tablet.get_by_test_id("set-up-tip").select_option(label=TIP)
    tablet.get_by_test_id("set-up-mode-continuous").check()
    expect(tablet.get_by_test_id("set-up-save")).to_be_disabled()
    tablet.get_by_test_id("set-up-power").fill("4")
    tablet.get_by_test_id("set-up-spot").fill("0.25")
    tablet.get_by_test_id("set-up-distance").fill("12")
    tablet.get_by_test_id("set-up-stack").fill("twelve sheets of one towel")
    tablet.get_by_test_id("set-up-wetness").fill("soaked, wrung out once")
    # By hand: 4 W / (2.5 J/mm3 * 0.25 mm * 40 mm / 20 s) = 3.2 mm.
    expect(tablet.get_by_test_id("set-up-depth")).to_contain_text("3.2\u00a0mm")
    wrong += looking.look(tablet, "a set-up for test cuts")
    tablet.get_by_test_id("set-up-save").click()

    tablet.get_by_test_id("trend-cut").click()
    expect(tablet.get_by_test_id("cut-steps")).to_contain_text("twelve sheets of one towel")
    tablet.get_by_test_id("cut-depth-0").fill("2,8")
    acts.until_kept(tablet, "2,8")
    tablet.reload()
    acts.sign_in(tablet, ASSISTANT)
    open_trend(tablet)
    tablet.get_by_test_id("trend-cut").click()
    expect(tablet.get_by_test_id("cut-depth-0")).to_have_value("2,8")
    # 2.8 of 3.2 mm is 87.5 %.
    expect(tablet.get_by_test_id("cut-ratio")).to_contain_text("87.5\u00a0%")
    tablet.get_by_test_id("cut-aiming-fainter").check()
    expect(tablet.get_by_test_id("cut-aiming-clean")).to_be_visible()
    wrong += looking.look(tablet, "a test cut")
    tablet.get_by_test_id("cut-save").click()
    expect(tablet.get_by_test_id("trend-cuts-meaning")).to_contain_text("1 of 10 cuts")

    tablet.get_by_test_id("trend-clean").click()
    tablet.get_by_test_id("clean-what-output-optic").check()
    tablet.get_by_test_id("clean-note").fill("a film of smoke")
    wrong += looking.look(tablet, "noting a cleaning")
    tablet.get_by_test_id("clean-save").click()
    expect(tablet.get_by_test_id("trend-done")).to_contain_text("a film of smoke")
    assert wrong == []

    tablet.context.set_offline(False)
    acts.all_sent(tablet)
    acts.desk_sign_in(desk, OFFICER)
    open_trend(desk)
    expect(desk.get_by_test_id("trend-done")).to_contain_text("a film of smoke")
    expect(desk.get_by_test_id("trend-cuts-chosen")).to_contain_text("2.8\u00a0mm")
    assert looking.look(desk, "the trend of a laser, at a desk") == []
