"""Takes the pictures of the screens that README shows, and more to look at.

With `bash deploy/start` running: `.venv/bin/python -m tests.story.pictures ADDRESS CODE FOLDER`,
where CODE is an unused code to enrol a tablet. Every screen is taken at two sizes.
"""

import sys
from pathlib import Path

from playwright.sync_api import Page, expect, sync_playwright

from tests.story import acts
from tests.story.conftest import QUIET, chromium_path

SIZES = {"1024x768": (1024, 768), "390x844": (390, 844)}


def main(address: str, code: str, folder: str) -> None:
    """Walk through the screens once and take each at both sizes."""
    target = Path(folder)
    target.mkdir(parents=True, exist_ok=True)

    def take(page: Page, name: str) -> None:
        for size, (width, height) in SIZES.items():
            page.set_viewport_size({"width": width, "height": height})
            page.evaluate("() => window.scrollTo(0, 0)")
            page.wait_for_timeout(150)
            page.screenshot(path=target / f"{name}-{size}.png")
            page.screenshot(path=target / f"whole-{name}-{size}.png", full_page=True)
        page.set_viewport_size({"width": 1024, "height": 768})

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium_path(), args=list(QUIET))
        tablet = browser.new_context(base_url=address).new_page()
        tablet.goto("/")
        take(tablet, "enrol")
        acts.enrol(tablet, code)
        take(tablet, "people")
        acts.sign_in(tablet, "placeholder")
        expect(tablet.get_by_test_id("laser")).to_have_count(2)
        take(tablet, "today")
        tablet.get_by_test_id("nav-plan").click()
        tablet.get_by_test_id("preset").filter(has_text="Frenum, fine").click()
        take(tablet, "plan")
        tablet.get_by_test_id("plan-power").fill("400")
        take(tablet, "refused")
        tablet.get_by_test_id("plan-power").fill("3")
        tablet.get_by_test_id("plan-use").click()
        take(tablet, "new-case")
        acts.open_case(tablet, chart="90417", initials="QX")
        take(tablet, "time-out")
        acts.answer_timeout(tablet)
        tablet.get_by_test_id("pass-start").click()
        acts.add_time(tablet, "12.5", "device-counter")
        tablet.get_by_test_id("power-plus").click()
        expect(tablet.get_by_test_id("case-pass")).to_contain_text("2")
        acts.add_time(tablet, "8", "estimate")
        take(tablet, "case")
        tablet.get_by_test_id("case-end").click()
        take(tablet, "end")
        tablet.get_by_test_id("end-now").click()
        expect(tablet.get_by_test_id("read-back")).to_be_visible()
        take(tablet, "sign")
        tablet.get_by_test_id("sign-pin").fill(acts.person("placeholder")["pin"])
        tablet.get_by_test_id("sign-go").click()
        expect(tablet.get_by_test_id("signed")).to_be_visible()
        tablet.get_by_test_id("nav-records").click()
        take(tablet, "records")
        tablet.get_by_test_id("record").first.click()
        expect(tablet.get_by_test_id("record")).to_have_count(0)
        take(tablet, "record")
        tablet.goto("/#/practice/rooms")
        tablet.get_by_test_id("room").first.click()
        expect(tablet.get_by_test_id("room-plan")).to_be_visible()
        take(tablet, "room")
        desk = browser.new_context(base_url=address).new_page()
        desk.goto("/#/desk")
        take(desk, "desk-sign-in")
        acts.desk_sign_in(desk, "demonstra")
        expect(desk.get_by_test_id("queue-row").first).to_be_visible()
        take(desk, "queue")
        desk.get_by_test_id("nav-records").click()
        expect(desk.get_by_test_id("record").first).to_be_visible()
        take(desk, "desk-records")
        browser.close()


if __name__ == "__main__":
    main(*sys.argv[1:])
