"""Every screen against WCAG 2.2 AA, for gloves, for a keyboard, and on a narrow window."""

import re

from playwright.sync_api import Page, expect

from tests.story import acts, looking

OPERATOR, FRONT_DESK = "placeholder", "demonstra"


def test_the_looking_finds_what_is_wrong(browser):
    context = browser.new_context(viewport=looking.SIZES[0])
    page = context.new_page()
    page.set_content(
        "<html lang='en'><title>Bad</title><main><h1>Bad</h1>"
        "<button style='outline:none'></button>"
        "<button data-testid='laser-stop' style='width:80px;height:60px'>Stop</button>"
        "<a href='#' style='position:fixed;left:0;bottom:0'>Covered</a>"
        "<p style='position:fixed;left:0;bottom:0;width:200px;height:60px;margin:0'>Cover</p>"
        "<p style='position:sticky;top:0;height:600px'>Head</p>"
        "<p style='width:1500px'>Wide</p></main>"
    )
    assert any(one.startswith("button-name") for one in looking.rule_breaches(page))
    areas = looking.small_areas(page)
    assert any("area of BUTTON" in one for one in areas)
    assert any("area of laser-stop: 80 x 60" in one for one in areas)
    focus = looking.lost_focus(page)
    assert "focus on BUTTON does not show" in focus
    assert any(one.startswith("Covered is under") for one in focus)
    assert looking.sideways(page)
    assert looking.crowded(page)
    context.close()


def test_every_screen_of_the_tablet(server, tablet: Page):
    wrong = looking.look(tablet, "door")
    acts.enrol(tablet, server.new_code())
    wrong += looking.look(tablet, "people")
    who = acts.person(OPERATOR)
    tablet.get_by_test_id(f"person-{who['initials'].lower()}").click()
    wrong += looking.look(tablet, "PIN")
    tablet.get_by_test_id("pin").fill(who["pin"])
    tablet.get_by_test_id("pin-go").click()
    expect(tablet.get_by_test_id("laser")).to_have_count(2)
    wrong += looking.look(tablet, "today")

    tablet.get_by_test_id("nav-plan").click()
    tablet.get_by_test_id("preset").filter(has_text="Frenum, fine").click()
    tablet.get_by_test_id("plan-more-open").click()
    tablet.get_by_test_id("dose-irradiance_mean-open").click()
    wrong += looking.look(tablet, "plan")
    tablet.get_by_test_id("plan-power").fill("400")
    expect(tablet.get_by_test_id("limits")).to_be_visible()
    wrong += looking.look(tablet, "plan refused")
    tablet.get_by_test_id("plan-power").fill("3")
    tablet.get_by_test_id("plan-use").click()
    expect(tablet.get_by_test_id("chart-number")).to_be_visible()
    wrong += looking.look(tablet, "new case")
    acts.open_case(tablet, chart="90417", initials="QX")
    wrong += looking.look(tablet, "time-out")
    acts.answer_timeout(tablet)

    tablet.get_by_test_id("pass-start").click()
    acts.add_time(tablet, "12.5", "device-counter")
    tablet.get_by_test_id("power-plus").click()
    expect(tablet.get_by_test_id("case-pass")).to_contain_text("2")
    wrong += looking.look(tablet, "case")
    tablet.get_by_test_id("laser-start").click()
    expect(tablet.get_by_test_id("laser-stop")).to_be_visible()
    wrong += looking.look(tablet, "case while the time runs")
    tablet.get_by_test_id("laser-stop").click()
    tablet.get_by_test_id("case-end").click()
    wrong += looking.look(tablet, "end")
    tablet.get_by_test_id("end-now").click()
    expect(tablet.get_by_test_id("read-back")).to_be_visible()
    wrong += looking.look(tablet, "sign")
    tablet.get_by_test_id("sign-pin").fill(who["pin"])
    tablet.get_by_test_id("sign-go").click()
    expect(tablet.get_by_test_id("signed")).to_be_visible()
    wrong += looking.look(tablet, "signed")
    tablet.get_by_test_id("nav-records").click()
    wrong += looking.look(tablet, "records")
    tablet.get_by_test_id("record").filter(has_text="90417").click()
    tablet.get_by_test_id("history-open").click()
    wrong += looking.look(tablet, "record")
    assert not wrong, "\n".join(wrong)


def test_every_screen_of_the_desk(server, desk: Page):
    wrong = looking.look(desk, "desk door")
    acts.desk_sign_in(desk, FRONT_DESK)
    expect(desk.get_by_test_id("queue-row").first).to_be_visible()
    wrong += looking.look(desk, "desk queue")
    desk.get_by_test_id("nav-records").click()
    expect(desk.get_by_test_id("record").first).to_be_visible()
    wrong += looking.look(desk, "desk records")
    desk.get_by_test_id("record").first.click()
    expect(desk.get_by_test_id("read-back")).to_be_visible()
    wrong += looking.look(desk, "desk record")
    assert not wrong, "\n".join(wrong)


def reach(page: Page, name: str) -> None:
    """Go on with the Tab key until the control has the focus."""
    wanted = f"() => document.activeElement?.dataset.testid === '{name}'"
    expect(page.get_by_test_id(name).first).to_be_visible()
    for _ in range(80):
        if page.evaluate(wanted):
            return
        page.keyboard.press("Tab")
    raise AssertionError(f"the keyboard does not reach {name}")


def press(page: Page, name: str, key: str = "Enter") -> None:
    reach(page, name)
    page.keyboard.press(key)


def write(page: Page, name: str, text: str) -> None:
    reach(page, name)
    page.keyboard.type(text)


def test_from_the_plan_to_the_signature_by_keyboard_alone(server, tablet: Page):
    write(tablet, "enrol-code", server.new_code())
    write(tablet, "enrol-label", "Tablet in room 1")
    tablet.keyboard.press("Enter")
    who = acts.person(OPERATOR)
    press(tablet, f"person-{who['initials'].lower()}")
    write(tablet, "pin", who["pin"])
    tablet.keyboard.press("Enter")
    expect(tablet.get_by_test_id("laser")).to_have_count(2)
    press(tablet, "nav-plan")
    press(tablet, "preset")
    press(tablet, "plan-use")
    write(tablet, "chart-number", "90418")
    write(tablet, "second-identifier", "QY")
    press(tablet, "procedure-kind", "ArrowDown")
    write(tablet, "site", "upper lip, midline")
    write(tablet, "indication", "frenum pulls at the papilla")
    press(tablet, "consent", "Space")
    press(tablet, "alerts", "Space")
    press(tablet, "case-open")
    expect(tablet.get_by_test_id("timeout")).to_be_visible()
    for line in range(1, tablet.get_by_test_id("timeout-item").count() + 1):
        reached = f"() => {acts.PROGRESS}.textContent.startsWith('{line} ')"
        while not tablet.evaluate(reached):
            press(tablet, "timeout-yes")
    press(tablet, "timeout-finish")
    press(tablet, "pass-start")
    press(tablet, "laser-start")
    expect(tablet.get_by_test_id("laser-stop")).to_be_visible()
    expect(tablet.get_by_test_id("laser-time")).to_contain_text(re.compile(r"0\.[1-9]|[1-9]"))
    press(tablet, "laser-stop")
    expect(tablet.get_by_test_id("pass-time")).to_contain_text("timer")
    press(tablet, "case-end")
    press(tablet, "end-now")
    write(tablet, "sign-pin", who["pin"])
    tablet.keyboard.press("Enter")
    expect(tablet.get_by_test_id("signed")).to_be_visible()
