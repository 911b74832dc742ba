"""A tablet whose browser lost its whole IndexedDB: all comes back with a PIN, offline too."""

import pytest
from playwright.sync_api import Page, expect

from tests.story import acts
from tests.story.served import served_record

OPERATOR = "placeholder"
PINS_AS_EVER = True


def lose_database(page: Page) -> None:
    """Empty IndexedDB and nothing else, as Chromium does after a torn write, and start again."""
    devtools = page.context.new_cdp_session(page)
    origin = page.evaluate("location.origin")
    # Away from the app, as a killed browser is: nothing holds the databases open.
    page.goto("about:blank")
    devtools.send("Storage.clearDataForOrigin", {"origin": origin, "storageTypes": "indexeddb"})
    page.goto("/")


@pytest.mark.once
def test_an_open_case_comes_back_without_a_network(server, tablet: Page):
    acts.enrol(tablet, server.new_code())
    acts.sign_in(tablet, OPERATOR)
    acts.plan_from_preset(tablet, "Frenum, fine")
    acts.go_offline(tablet)
    acts.open_case(tablet, chart="90555", initials="LS")
    acts.answer_timeout(tablet)
    tablet.get_by_test_id("pass-start").click()
    acts.add_time(tablet, "12.5", "device-counter")

    lose_database(tablet)
    expect(tablet.get_by_test_id("lost-storage")).to_be_visible()
    assert "90555" not in tablet.content()
    who = acts.person(OPERATOR)
    tablet.get_by_test_id(f"person-{who['initials'].lower()}").click()
    tablet.get_by_test_id("pin").fill("999999" if who["pin"] != "999999" else "888888")
    tablet.get_by_test_id("pin-go").click()
    expect(tablet.get_by_test_id("pin-wrong")).to_be_visible()
    tablet.get_by_test_id("pin").fill(who["pin"])
    tablet.get_by_test_id("pin-go").click()
    expect(tablet.get_by_test_id("lock")).to_be_visible()

    tablet.get_by_test_id("nav-today").click()
    expect(tablet.get_by_test_id("open-case")).to_contain_text("90555")
    tablet.get_by_test_id("open-case-go").click()
    expect(tablet.get_by_test_id("pass")).to_have_count(1)
    acts.add_time(tablet, "8", "estimate")
    acts.end_and_sign(tablet, OPERATOR)
    tablet.context.set_offline(False)
    acts.on_server(tablet)
    record = served_record(server, "90555")
    assert record["status"] == "signed"
    assert record["flags"] == []
    assert record["passes"][0]["laser_on_s"] == 20.5
    # One tablet throughout: no hole, no fork, the same key.
    assert len({line["tablet_id"] for line in record["history"]}) == 1
