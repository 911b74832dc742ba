"""What is done with lists on a page."""

import re

from playwright.sync_api import Page, expect

from tests.story import acts

OPERATOR = "placeholder"


def change_person(page: Page, key: str) -> None:
    page.get_by_test_id("lock").click()
    acts.sign_in(page, key)


def open_list(page: Page, kind: str) -> None:
    page.goto("/#/practice/lists")
    page.get_by_test_id(f"list-{kind}").click()
    # The page of all lists, which is being left, has one for each of them.
    expect(page.get_by_test_id("list-in-force")).to_have_count(1)


def edit_list(page: Page, kind: str) -> int:
    """Open a list for changing; returns the number of the version it will become."""
    open_list(page, kind)
    page.get_by_test_id("list-edit").click()
    expect(page.get_by_test_id("list-title")).to_be_visible()
    return int(re.search(r"\d+", page.get_by_test_id("list-publish-go").inner_text())[0])


def publish(page: Page, *, day: str | None = None, ask: bool = False) -> None:
    if day is not None:
        page.get_by_test_id("effective").get_by_text("On a day").click()
        page.locator("#effective-day").fill(day)
    if ask:
        page.get_by_test_id("list-ask").check()
    acts.touch_elsewhere(page)
    page.get_by_test_id("list-publish-go").click()
    expect(page.get_by_test_id("list-in-force")).to_be_visible()


def synced(page: Page) -> None:
    """Wait until the server has what this tablet wrote."""
    page.goto("/#/today")
    page.get_by_test_id("sync-now").click()
    expect(page.get_by_test_id("sync-waiting")).to_contain_text("Nothing waits")
    # What the screen says comes a moment after what was written; nobody else looks in between.
    acts.all_sent(page)


def begin_case(page: Page, chart: str) -> None:
    acts.plan_from_preset(page, "Frenum, fine")
    operator = page.get_by_test_id("operator")
    # Where it is asked who operates, it is asked in the same form.
    expect(page.get_by_test_id("chart-number")).to_be_visible()
    if operator.is_visible():
        operator.select_option(label=acts.person(OPERATOR)["display_name"])
    acts.open_case(page, chart=chart, initials="QX")


def tap(page: Page, name: str) -> None:
    page.get_by_test_id(name).tap()


def answer_all(page: Page, prefix: str, *, done: int = 0) -> int:
    """Answer every open item with yes and complete the list; returns the taps it takes."""
    lines = acts.answer_lines(page, prefix, done=done)
    tap(page, f"{prefix}-finish")
    return lines - done + 1


def big_enough(page: Page, *names: str) -> None:
    """20 mm at the 96 pixels an inch that CSS defines: 20 / 25.4 * 96 = 75.6."""
    for name in names:
        box = page.get_by_test_id(name).bounding_box()
        assert min(box["width"], box["height"]) >= 75.6, (name, box)
