"""The checks of the lasers at the start of a day: by taps, without a network, seen at a desk."""

import re

from playwright.sync_api import Page, expect

from tests.story import acts, glass, looking
from tests.story.conftest import PHONE_SIZE, TABLET_SIZE

ASSISTANT, OFFICER = "dummyfield", "fixtureby"
ARM, GUIDE = "Laser with the arm", "Laser with the waveguide"
# This project's own budget for the check of one laser, and what a finger and the two eyes before it
# take: no tap within a bounce of the last one, and time to look at each thing.
BUDGET_S, LOOK_S = 120, 8
PRESSED = ("check-yes", "check-no", "check-na", "check-finish")

# Of controls that are there: those smaller than so many millimetres, at a density of pixels.
SMALL = """([density, least, ids]) => {
  const root = document.documentElement.style;
  const kept = root.getPropertyValue("--mm");
  root.setProperty("--mm", `${density}px`);
  const wrong = ids.flatMap((id) => [...document.querySelectorAll(`[data-testid="${id}"]`)]
    .map((e) => e.getBoundingClientRect())
    .filter(({ width, height }) => Math.min(width, height) / density < least - 0.05)
    .map(({ width, height }) => `${id}: ${width} x ${height} at ${density}`));
  root.setProperty("--mm", kept);
  return wrong;
}"""


def small(page: Page) -> list[str]:
    given = (glass.WHILE_LASING_MM, list(PRESSED))
    return [one for each in glass.DENSITIES for one in page.evaluate(SMALL, [each, *given])]


def need(page: Page, laser: str):
    return page.get_by_test_id("glance").locator("a").filter(has_text=laser)


def answer(page: Page, given: str, line: int) -> None:
    page.get_by_test_id(f"check-{given}").click()
    expect(page.get_by_test_id("check-progress")).to_contain_text(re.compile(f"^{line} "))
    acts.touch_elsewhere(page)


def test_the_start_of_a_day_by_taps_without_a_network(server, tablet: Page, desk: Page):
    acts.enrol(tablet, server.new_code())
    acts.sign_in(tablet, ASSISTANT)
    acts.go_offline(tablet)
    expect(need(tablet, ARM)).to_contain_text("not made today")
    wrong = looking.look(tablet, "today before any check of a laser")
    touches = 1
    need(tablet, ARM).click()
    expect(tablet.get_by_test_id("check-progress")).to_contain_text("0 of")
    lines = tablet.get_by_test_id("check-item").count()
    for line in range(1, 7):
        answer(tablet, "yes", line)
        touches += 1
    # Half done it outlives a reload, and whoever goes on finds it in its place.
    question = tablet.get_by_test_id("check-question").inner_text()
    acts.until_kept(tablet, '"answered_at"', times=6)
    with acts.nothing_lost():
        tablet.reload()
        acts.sign_in(tablet, ASSISTANT)
        tablet.goto("/#/today")
        need(tablet, ARM).click()
        expect(tablet.get_by_test_id("check-progress")).to_contain_text(f"6 of {lines}")
        expect(tablet.get_by_test_id("check-question")).to_have_text(question)
    # Where a picture says it faster, one stands there, and the answers stay in reach.
    expect(tablet.get_by_test_id("picture-test_exposure")).to_be_visible()
    wrong += looking.look(tablet, "a check of a laser being made")
    for size in (PHONE_SIZE, TABLET_SIZE):
        tablet.set_viewport_size(size)
        expect(tablet.get_by_test_id("check-yes")).to_be_in_viewport(ratio=1)
        assert small(tablet) == []
    for line in range(7, lines + 1):
        answer(tablet, "yes", line)
        touches += 1
    assert small(tablet) == []
    tablet.get_by_test_id("check-finish").click()
    touches += 1
    expect(tablet.get_by_test_id("check-last-start_of_day")).to_contain_text("passed")
    # One touch an item, one to begin and one to end; and there is time to look at each thing.
    assert touches == lines + 2
    assert touches * acts.BOUNCE_MS / 1000 + lines * LOOK_S < BUDGET_S
    tablet.goto("/#/today")
    expect(tablet.get_by_test_id("laser-today")).to_have_count(1)
    # Nothing else is due for it, so it is not among those that need something.
    expect(need(tablet, GUIDE)).to_be_visible()
    expect(need(tablet, ARM)).to_have_count(0)
    expect(tablet.get_by_test_id("glance-passed")).to_contain_text(f"{ARM}: Start of day passed")

    # The other laser fails one item, with what.
    need(tablet, GUIDE).click()
    expect(tablet.get_by_test_id("check-of")).to_contain_text(GUIDE)
    answer(tablet, "no", 1)
    tablet.get_by_test_id("check-note").fill("footswitch cable is bare")
    tablet.get_by_test_id("check-note-save").click()
    for line in range(2, lines + 1):
        answer(tablet, "yes", line)
    expect(tablet.get_by_test_id("check-fails")).to_be_visible()
    tablet.get_by_test_id("check-finish").click()
    notice = tablet.get_by_test_id("check-failed")
    expect(notice).to_contain_text("footswitch cable is bare")
    expect(notice).to_contain_text("cannot stop a laser")
    wrong += looking.look(tablet, "a failed check of a laser")
    # A failed list takes the laser out of service by itself, wherever it is spoken of.
    tablet.goto("/#/practice/service")
    out = tablet.get_by_test_id("service-laser").filter(has_text=GUIDE)
    expect(out).to_contain_text("Out of service")
    out.click()
    expect(tablet.get_by_test_id("service-cause")).to_contain_text("footswitch cable is bare")
    expect(tablet.get_by_test_id("release-missing-check")).to_be_visible()
    tablet.goto("/#/today")
    expect(need(tablet, GUIDE)).to_contain_text("footswitch cable is bare")
    wrong += looking.look(tablet, "today after the checks")
    assert wrong == []

    acts.make_contact(tablet)
    acts.all_sent(tablet)
    acts.desk_sign_in(desk, OFFICER)
    desk.get_by_test_id("nav-practice").click()
    desk.get_by_test_id("practice-checks").click()
    desk.get_by_test_id("checks-laser").filter(has_text=GUIDE).click()
    # Beside the weekly and other lists of the demo.
    check = desk.get_by_test_id("device-check").filter(has_text="footswitch cable is bare")
    expect(check).to_have_count(1)
    expect(check.get_by_test_id("device-check-verdict")).to_have_text("Failed")
    expect(desk.get_by_test_id("device-check-odd")).to_contain_text("footswitch cable is bare")
    expect(desk.get_by_test_id("out-mark")).to_contain_text("footswitch cable is bare")
