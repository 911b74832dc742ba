"""What holds on every screen at the chair: taps, the keyboard, the screen kept on, languages."""

import re

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.story import acts, walk
from tests.story.conftest import TABLET_SIZE, new_context

OPERATOR = walk.OPERATOR
ALWAYS_ONLINE = True

# Stands in for the browser's own: counts what is asked for and given back.
WAKE_LOCK = """
window.locks = { asked: 0, held: 0 };
Object.defineProperty(navigator, "wakeLock", { value: {
  request: async () => {
    window.locks.asked += 1;
    window.locks.held += 1;
    let given = false;
    return { release: async () => { if (!given) { given = true; window.locks.held -= 1; } } };
  },
} });
window.turn = (state) => {
  Object.defineProperty(document, "visibilityState", { value: state, configurable: true });
  if (state === "hidden") window.locks.held = 0;  // the browser takes it back by itself
  document.dispatchEvent(new Event("visibilitychange"));
};
"""

# What is pressed, in order; the keys of the PIN are its digits.
PRESSED = """() => {
  window.pressed = [];
  document.addEventListener("click", (event) => {
    const control = event.target.closest("button, a");
    window.pressed.push(control.closest(".keypad") ? "digit" : control.dataset.testid);
  }, { capture: true });
}"""


@pytest.fixture
def signed_in(server, tablet: Page) -> Page:
    acts.enrol(tablet, server.new_code())
    acts.sign_in(tablet, OPERATOR)
    return tablet


def test_the_keyboard_goes_past_the_bars_and_to_each_new_screen_s_heading(signed_in: Page):
    expect(signed_in.get_by_test_id("laser")).to_have_count(2)
    signed_in.keyboard.press("Tab")
    expect(signed_in.get_by_test_id("skip")).to_be_focused()
    expect(signed_in.get_by_test_id("skip")).to_be_in_viewport()
    before = signed_in.url
    signed_in.keyboard.press("Enter")
    expect(signed_in.locator("main h1")).to_be_focused()
    assert signed_in.url == before
    for name in ("plan", "records", "practice"):
        signed_in.get_by_test_id(f"nav-{name}").focus()
        signed_in.keyboard.press("Enter")
        expect(
            signed_in.locator(f"nav [aria-current=page][data-testid=nav-{name}]")
        ).to_be_visible()
        expect(signed_in.locator("main h1").first).to_be_focused()


def test_settings_are_two_taps_away_and_are_kept(signed_in: Page):
    signed_in.get_by_test_id("open-settings").click()
    signed_in.get_by_test_id("hand-left").check()
    expect(signed_in.locator("html[data-hand=left]")).to_be_attached()
    signed_in.get_by_test_id("lock-after-4").check()
    signed_in.get_by_test_id("size-small").check()
    signed_in.reload()
    # Nobody is signed in: the tablet's own choices hold, a person's do not.
    expect(signed_in.get_by_test_id("people")).to_be_visible()
    expect(signed_in.locator("html[data-hand=right]")).to_be_attached()
    width = signed_in.evaluate(
        "getComputedStyle(document.documentElement).getPropertyValue('--mm')"
    )
    assert width.startswith("6.29")  # 160 / 25.4
    acts.sign_in(signed_in, OPERATOR)
    expect(signed_in.locator("html[data-hand=left]")).to_be_attached()
    signed_in.get_by_test_id("open-settings").click()
    expect(signed_in.get_by_test_id("lock-after-4")).to_be_checked()


def test_a_card_held_to_the_glass_sizes_what_is_pressed(signed_in: Page):
    signed_in.get_by_test_id("open-settings").click()
    signed_in.get_by_test_id("size-card").check()
    shown = signed_in.get_by_test_id("card-px")
    for _ in range(5):
        before = shown.inner_text()
        acts.touch_elsewhere(signed_in)
        signed_in.get_by_test_id("card-much-larger").click()
        expect(shown).not_to_have_text(before)
    drawn = signed_in.get_by_test_id("card-drawn").bounding_box()
    # 96 / 25.4 + 5 x 0.2 px a millimetre, rounded to hundredths: 4.78; a card is 85.60 x 53.98 mm.
    assert sorted((drawn["width"], drawn["height"])) == pytest.approx([258.0, 409.2], abs=0.5)
    signed_in.get_by_test_id("card-fits").click()
    expect(signed_in.get_by_test_id("card-done")).to_be_visible()
    width = signed_in.evaluate(
        "getComputedStyle(document.documentElement).getPropertyValue('--mm')"
    )
    assert float(width.removesuffix("px")) == pytest.approx(4.78, abs=0.001)


def test_the_language_changes_without_losing_what_was_typed(browser: Browser, server):
    context = new_context(browser, server, viewport=TABLET_SIZE, locale="es-ES")
    page = context.new_page()
    page.goto("/")
    expect(page.locator("html[lang=es]")).to_be_attached()
    page.get_by_test_id("enrol-label").fill("Gabinete 1")
    page.get_by_test_id("language-en").click()
    expect(page.get_by_text("Set up this tablet")).to_be_visible()
    expect(page.get_by_test_id("enrol-label")).to_have_value("Gabinete 1")
    page.get_by_test_id("language-es").click()
    acts.enrol(page, server.new_code())
    acts.sign_in(page, OPERATOR)
    expect(page.locator("main h1")).to_contain_text("Hoy")
    # The decimal mark of Spain, in what is shown of numbers; what is meant stays the same.
    expect(page.get_by_test_id("laser-ratio").first).to_contain_text(re.compile(r"\d,\d\s%"))
    page.get_by_test_id("nav-plan").click()
    page.get_by_test_id("preset").filter(has_text="Frenum, fine").first.click()
    page.get_by_test_id("plan-power").fill("400")
    # A refusal of the engine, in the person's language and numbers.
    expect(page.get_by_test_id("limits")).to_contain_text("supera el máximo del equipo")
    page.get_by_test_id("plan-power").fill("2,5")
    expect(page.get_by_test_id("plan-power-said")).to_contain_text("2,5")
    expect(page.get_by_test_id("dose-absent")).to_contain_text("No se indica la velocidad")
    context.close()


def test_the_language_belongs_to_the_person(signed_in: Page):
    signed_in.get_by_test_id("open-settings").click()
    signed_in.get_by_test_id("language-es").check()
    expect(signed_in.locator("html[lang=es]")).to_be_attached()
    signed_in.get_by_test_id("lock").click()
    expect(signed_in.locator("html[lang=en]")).to_be_attached()
    acts.sign_in(signed_in, OPERATOR)
    expect(signed_in.locator("html[lang=es]")).to_be_attached()


def test_the_screen_is_kept_on_during_a_case_and_again_when_it_comes_back(server, browser: Browser):
    context = new_context(browser, server, viewport=TABLET_SIZE)
    context.add_init_script(WAKE_LOCK)
    page = context.new_page()
    page.goto("/")
    acts.enrol(page, server.new_code())
    acts.sign_in(page, OPERATOR)
    acts.plan_from_preset(page, "Frenum, fine")
    assert page.evaluate("locks.asked") == 0
    acts.open_case(page, chart="90417", initials="QX")
    page.wait_for_function("() => locks.held === 1")
    page.evaluate("turn('hidden')")
    assert page.evaluate("locks.held") == 0
    page.evaluate("turn('visible')")
    page.wait_for_function("() => locks.held === 1")
    page.get_by_test_id("open-settings").click()
    page.wait_for_function("() => locks.held === 0")
    context.close()


def test_a_tap_counts_on_release_once_and_moves_nothing(signed_in: Page):
    lock = signed_in.get_by_test_id("lock")
    box = lock.bounding_box()
    signed_in.mouse.move(box["x"] + 20, box["y"] + 20)
    signed_in.mouse.down()
    expect(lock).to_be_visible()
    # Slid off before letting go: nothing happens.
    signed_in.mouse.move(300, 400)
    signed_in.mouse.up()
    expect(lock).to_be_visible()
    styles = signed_in.evaluate(
        "() => { const s = getComputedStyle(document.documentElement);"
        " return [s.overscrollBehaviorY, s.touchAction]; }"
    )
    assert styles == ["none", "manipulation"]
    signed_in.mouse.move(box["x"] + 20, box["y"] + 20)
    signed_in.mouse.down()
    signed_in.mouse.up()
    expect(signed_in.get_by_test_id("people")).to_be_visible()


def test_another_person_takes_over_with_two_taps_and_a_pin(signed_in: Page):
    other = acts.person("samplewright")
    theirs = f"person-{other['initials'].lower()}"
    signed_in.evaluate(PRESSED)
    signed_in.get_by_test_id("lock").click()
    signed_in.get_by_test_id(theirs).click()
    for digit in other["pin"]:
        signed_in.get_by_test_id(f"key-{digit}").click()
    expect(signed_in.get_by_test_id("who")).to_have_text(other["display_name"])
    assert signed_in.evaluate("window.pressed") == ["lock", theirs, *["digit"] * 6]
