"""What people do on the screens, one function an act."""

import json
from pathlib import Path

from playwright.sync_api import Locator, Page, expect

HOUSE = json.loads(
    (Path(__file__).resolve().parents[2] / "demo_fixtures" / "house.json").read_text()
)

# Longer than the 300 ms in which a second tap counts as the first one's bounce.
BOUNCE_MS = 350
# What lies under a key in a store of the database that the server's documents are kept in.
KEPT = """([store, key]) => new Promise((resolve) => {
    const opening = indexedDB.open("house");
    opening.onsuccess = () => {
      const row = opening.result.transaction(store).objectStore(store).get(key);
      row.onsuccess = () => { opening.result.close(); resolve(row.result); };
    };
})"""
PROGRESS = "document.querySelector('[data-testid=timeout-progress]')"


def person(key: str) -> dict:
    """The demo's member of staff with this key."""
    return next(one for one in HOUSE["people"] if one["key"] == key)


def kept(page: Page, store: str, key: str | list[str]):
    """What the tablet keeps under ``key`` in a store of its database ``house``, or None."""
    return page.evaluate(KEPT, [store, key])


def enrol(page: Page, code: str, label: str = "Tablet in room 1") -> None:
    page.get_by_test_id("enrol-code").fill(code)
    page.get_by_test_id("enrol-label").fill(label)
    page.get_by_test_id("enrol-go").click()
    expect(page.get_by_test_id("people")).to_be_visible()


def sign_in(page: Page, key: str) -> None:
    who = person(key)
    page.get_by_test_id(f"person-{who['initials'].lower()}").click()
    page.get_by_test_id("pin").fill(who["pin"])
    page.get_by_test_id("pin-go").click()
    expect(page.get_by_test_id("lock")).to_be_visible()


def desk_sign_in(page: Page, key: str) -> None:
    who = person(key)
    page.get_by_test_id("desk-name").fill(who["sign_in"])
    page.get_by_test_id("desk-password").fill(who["password"])
    page.get_by_test_id("desk-go").click()
    expect(page.get_by_test_id("desk-sign-out")).to_be_visible()


def plan_from_preset(page: Page, name: str) -> None:
    page.get_by_test_id("nav-plan").click()
    page.get_by_test_id("preset").filter(has_text=name).click()
    expect(page.get_by_test_id("dose-panel")).to_be_visible()
    page.get_by_test_id("plan-use").click()


def open_case(page: Page, *, chart: str, initials: str) -> None:
    page.get_by_test_id("chart-number").fill(chart)
    page.get_by_test_id("second-identifier").fill(initials)
    page.get_by_test_id("procedure-kind").select_option(index=1)
    page.get_by_test_id("site").fill("upper lip, midline")
    page.get_by_test_id("indication").fill("frenum pulls at the papilla")
    page.get_by_test_id("consent").check()
    page.get_by_test_id("alerts").check()
    page.get_by_test_id("case-open").click()
    expect(page.get_by_test_id("timeout")).to_be_visible()


def answer_timeout(page: Page) -> int:
    """Answer every line with yes and close the list; returns how many lines there were."""
    lines = page.get_by_test_id("timeout-item").count()
    for line in range(1, lines + 1):
        tap_until(page, "timeout-yes", f"() => {PROGRESS}.textContent.startsWith('{line} ')")
    page.get_by_test_id("timeout-finish").click()
    expect(page.get_by_test_id("timeout-done")).to_be_visible()
    return lines


def tap_until(page: Page, control: str, reached: str) -> None:
    """Tap, and again while it counted as the bounce of the tap before (under 300 ms)."""
    while not page.evaluate(reached):
        page.get_by_test_id(control).click()


def lift(page: Page) -> None:
    """Take the finger off for so long that the next tap is no bounce of the last."""
    page.wait_for_timeout(BOUNCE_MS)


def add_time(page: Page, seconds: str, source: str) -> None:
    """Add laser-on time from elsewhere; ``source`` is a slug such as device-counter."""
    field = page.get_by_test_id("time-seconds")
    if not field.is_visible():
        page.get_by_test_id("other-time").click()
    page.get_by_test_id(f"time-source-{source}").check()
    field.fill(seconds)
    page.get_by_test_id("time-add").click()
    expect(field).to_have_value("")


def end_and_sign(page: Page, key: str) -> None:
    page.get_by_test_id("case-end").click()
    page.get_by_test_id("outcome-haemostasis").fill("complete")
    page.get_by_test_id("end-now").click()
    expect(page.get_by_test_id("read-back")).to_be_visible()
    page.get_by_test_id("sign-pin").fill(person(key)["pin"])
    page.get_by_test_id("sign-go").click()
    expect(page.get_by_test_id("signed")).to_be_visible()


def open_in_queue(page: Page, chart: str) -> Locator:
    """Open the row of a record in the chart queue, where only one is open; return it."""
    row = page.get_by_test_id("queue-row").filter(has_text=chart)
    expect(row).to_be_visible()
    if row.get_attribute("aria-current") is None:
        row.get_by_test_id("queue-select").click()
    expect(row).to_have_attribute("aria-current", "true")
    return row
