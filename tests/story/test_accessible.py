"""Every screen against WCAG 2.2 AA, for gloves, eyewear and a keyboard, and in a narrow window.

Each screen is looked at once in the normal check. The long check looks at each in both languages,
at four sizes, with the keyboard's focus on every control and with twice the text.
"""

import re

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.story import acts, eyewear, glass, looking, walk
from tests.story.conftest import TABLET_SIZE, new_context

OPERATOR = walk.OPERATOR
LOCALES = {"en": "en-GB", "es": "es-ES"}
ALWAYS_ONLINE = True


def open_in(browser: Browser, server, language: str, address: str) -> Page:
    """A new browser that is set to a language."""
    context = new_context(browser, server, viewport=TABLET_SIZE, locale=LOCALES[language])
    page = context.new_page()
    page.goto(address)
    expect(page.locator(f"html[lang={language}] form:visible")).to_be_visible()
    return page


def test_the_looking_finds_what_is_wrong(browser):
    context = browser.new_context(viewport=looking.TABLET)
    page = context.new_page()
    page.set_content(
        "<html lang='en'><title>Bad</title><main><h1>Bad</h1>"
        "<button style='outline:none'></button>"
        "<button data-testid='laser-stop' style='width:80px;height:60px'>Stop</button>"
        "<button data-testid='near' style='width:80px;height:60px'>Near</button>"
        "<a href='#' style='position:fixed;left:0;bottom:0'>Covered</a>"
        "<p style='position:fixed;left:0;bottom:0;width:200px;height:60px;margin:0'>Cover</p>"
        "<p style='position:sticky;top:0;height:600px'>Head</p>"
        "<p style='color:#9a9a9a'>Faint</p>"
        "<p style='color:#d00000'>Red</p>"
        "<p style='width:30rem;font-size:1rem'>Wide with large text</p></main>"
    )
    assert any(one.startswith("button-name") for one in looking.rule_breaches(page))
    focus = looking.lost_focus(page)
    assert "focus on BUTTON does not show" in focus
    assert any(one.startswith("Covered is under") for one in focus)
    assert looking.sideways(page) == []
    page.evaluate("() => { document.documentElement.style.fontSize = '250%'; }")
    assert looking.sideways(page)
    page.evaluate("() => { document.documentElement.style.fontSize = ''; }")
    assert looking.crowded(page)
    sizes = glass.small_or_crowded(page)
    assert any(one.startswith("laser-stop: 15.9 mm, less than 20") for one in sizes)
    assert any(one.startswith("near and laser-stop: ") for one in sizes)
    faint = eyewear.faint(page)
    # 2.81:1 for #9a9a9a on white, and 5.89:1 for #d00000, by WCAG's formula worked by hand.
    assert "“Faint”: 2.81:1 through no filter" in faint
    assert any(one.startswith("“Red”: ") and one.endswith("through red") for one in faint)
    assert "“Red”" not in " ".join(one for one in faint if one.endswith("through no filter"))
    context.close()


def test_every_screen_of_the_tablet(server, tablet: Page):
    wrong: list[str] = []
    walk.tablet(
        tablet, server.new_code(), lambda page, name: wrong.extend(looking.look(page, name))
    )
    assert not wrong, "\n".join(wrong)


def test_every_screen_of_the_desk(server, desk: Page):
    wrong: list[str] = []
    walk.desk(desk, lambda page, name: wrong.extend(looking.look(page, name)))
    assert not wrong, "\n".join(wrong)


@pytest.mark.long
@pytest.mark.parametrize("language", LOCALES)
def test_every_screen_closely(server, browser, language):
    wrong: list[str] = []

    def visit(page: Page, name: str) -> None:
        wrong.extend(looking.look_closely(page, name))

    page = open_in(browser, server, language, "/")
    walk.tablet(page, server.new_code(), visit)
    page.context.close()
    page = open_in(browser, server, language, "/#/desk")
    walk.desk(page, visit)
    page.context.close()
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
    progress = tablet.get_by_test_id("timeout-progress")
    for line in range(1, tablet.get_by_test_id("timeout-item").count() + 1):
        acts.lift(tablet)
        press(tablet, "timeout-yes")
        expect(progress).to_contain_text(re.compile(f"^{line} "))
    press(tablet, "timeout-finish")
    press(tablet, "pass-start")
    press(tablet, "laser-start")
    expect(tablet.get_by_test_id("laser-stop")).to_be_visible()
    expect(tablet.get_by_test_id("laser-time")).to_contain_text(re.compile(r"0\.[1-9]|[1-9]"))
    acts.lift(tablet)
    press(tablet, "laser-stop")
    expect(tablet.get_by_test_id("pass-time")).to_contain_text("timer")
    press(tablet, "case-end")
    press(tablet, "end-now")
    write(tablet, "sign-pin", who["pin"])
    tablet.keyboard.press("Enter")
    expect(tablet.get_by_test_id("signed")).to_be_visible()
