"""Versions of a list: two on one base, and the day from which one holds."""

import re
from datetime import UTC, datetime, timedelta

from playwright.sync_api import Page, expect

from tests.story import acts
from tests.story.conftest import new_context
from tests.story.list_acts import edit_list, open_list, publish, synced
from tests.story.served import list_document

OFFICER = "fixtureby"


def test_two_versions_on_one_base(server, enrolled: Page, desk: Page):
    page = enrolled
    acts.sign_in(page, OFFICER)
    acts.desk_sign_in(desk, OFFICER)

    # While the tablet has no network, both publish on the same version.
    number = edit_list(page, "pause")
    acts.go_offline(page)
    page.get_by_test_id("item-text-1").fill(f"Standby, said aloud {number}")
    publish(page)
    expect(page.get_by_test_id("list-waits")).to_be_visible()
    assert edit_list(desk, "pause") == number
    desk.get_by_test_id("item-text-2").fill(f"Handpiece in its holder {number}")
    publish(desk)
    expect(desk.get_by_test_id("list-in-force")).to_contain_text(f"Version {number}")
    page.context.set_offline(False)
    synced(page)

    # What came first stands; the other waits beside it, and says what differs.
    open_list(page, "pause")
    expect(page.get_by_test_id("list-in-force")).to_contain_text(f"Version {number} is in force")
    sides = page.get_by_test_id("list-draft")
    expect(sides.get_by_test_id("side-left")).to_contain_text(f"Handpiece in its holder {number}")
    expect(sides.get_by_test_id("side-right")).to_contain_text(f"Standby, said aloud {number}")
    expect(sides.get_by_text("other words")).to_have_count(4)
    page.get_by_test_id("draft-take").click()
    page.get_by_test_id("item-text-2").fill(f"Handpiece in its holder {number}")
    publish(page)
    expect(page.get_by_test_id("list-draft")).to_have_count(0)
    synced(page)
    kept = list_document(server, "pause")
    assert (kept["version"], kept["drafts"]) == (number + 1, [])
    assert [one["text"] for one in kept["items"][:2]] == [
        f"Standby, said aloud {number}",
        f"Handpiece in its holder {number}",
    ]

    # A desk that was overtaken is told, keeps its text, and compares before it goes on.
    assert edit_list(desk, "pause") == number + 2
    desk.get_by_test_id("item-text-3").fill(f"Tip {number}")
    assert edit_list(page, "pause") == number + 2
    page.get_by_test_id("list-title").fill(f"Pause {number}")
    publish(page)
    synced(page)
    desk.get_by_test_id("list-publish-go").click()
    expect(desk.get_by_test_id("list-overtaken")).to_be_visible()
    expect(desk.get_by_test_id("item-text-3")).to_have_value(f"Tip {number}")
    desk.get_by_test_id("list-on-top").click()
    publish(desk)
    assert list_document(server, "pause")["version"] == number + 3


def test_the_day_of_a_version_begins_at_the_practice_and_not_at_the_tablet(server, browser):
    """A tablet whose browser believes in another zone still goes by the practice's calendar."""
    # 03:00 UTC is 22:00 or 21:00 the day before in Chicago.
    at = datetime.now(UTC).replace(hour=3, minute=0, second=0, microsecond=0) + timedelta(days=1)
    context = new_context(browser, server, timezone_id="Pacific/Auckland")
    page = context.new_page()
    page.goto("/")
    acts.enrol(page, server.new_code())
    acts.sign_in(page, OFFICER)
    open_list(page, "after_use")
    in_force = page.get_by_test_id("list-in-force")
    before = int(re.search(r"\d+", in_force.inner_text())[0])
    number = edit_list(page, "after_use")
    page.get_by_test_id("item-text-1").fill("Off and locked away")
    publish(page, day=at.date().isoformat())
    synced(page)
    context.close()
    for hours, expected in ((0, before), (12, number)):
        context = new_context(browser, server, timezone_id="Pacific/Auckland")
        page = context.new_page()
        page.clock.set_fixed_time(at + timedelta(hours=hours))
        page.goto("/")
        acts.enrol(page, server.new_code())
        acts.sign_in(page, OFFICER)
        open_list(page, "after_use")
        expect(page.get_by_test_id("list-in-force")).to_contain_text(f"Version {expected} is")
        context.close()
