"""A simulation asked for on the plan screen, worked out in the tablet's own worker."""

import pytest
from playwright.sync_api import Page, expect

from tests.story import acts, looking

OPERATOR = "placeholder"
ALWAYS_ONLINE = True


@pytest.fixture
def plan(server, tablet: Page) -> Page:
    """A plan with the tissue chosen and the simulation's part opened."""
    acts.enrol(tablet, server.new_code())
    acts.sign_in(tablet, OPERATOR)
    tablet.get_by_test_id("nav-plan").click()
    tablet.get_by_test_id("preset").filter(has_text="Frenum, fine").click()
    expect(tablet.get_by_test_id("dose-panel")).to_be_visible()
    expect(tablet.get_by_test_id("plan-heat")).to_have_count(0)
    tablet.get_by_test_id("plan-more-open").click()
    tablet.get_by_test_id("tissue-oral-mucosa").check()
    tablet.get_by_test_id("plan-heat-open").click()
    return tablet


def test_the_heat_of_a_plan_is_simulated_and_said_in_words(plan: Page):
    plan.get_by_test_id("heat-duration-0-1-s").check()
    over_time = plan.get_by_test_id("heat-time-words")
    expect(over_time).to_contain_text("After 0.1\u00a0s")
    expect(over_time).to_contain_text("Removed if the spot stayed on this one place")
    expect(over_time).to_contain_text("outside validity")
    below = plan.get_by_test_id("heat-depth-words")
    expect(below).to_contain_text("Measured in oral tissue: 75\u00a0µm to 0.54\u00a0mm")
    expect(plan.get_by_test_id("heat-basis")).to_contain_text("From the verified power")
    plan.get_by_test_id("heat-rests-open").click()
    expect(plan.get_by_test_id("heat-damage-rests")).to_contain_text("Henriques FC, Moritz AR 1947")
    expect(plan.get_by_test_id("heat-damage-valid")).to_contain_text("44 to 60\u00a0°C")
    plan.get_by_test_id("depths-rests-open").click()
    expect(plan.get_by_test_id("depths-pulse_depth-valid")).to_contain_text("below 0.5\u00a0ms")
    wrong = looking.look(plan, "simulation of the heat")
    assert not wrong, "\n".join(wrong)


def test_other_settings_are_simulated_anew(plan: Page):
    plan.get_by_test_id("heat-duration-10-ms").check()
    over_time = plan.get_by_test_id("heat-time-words")
    expect(over_time).to_contain_text("After 10\u00a0ms")
    before = over_time.inner_text()
    power = plan.get_by_test_id("plan-power")
    power.fill("0.05")
    expect(over_time).not_to_have_text(before)
    expect(over_time).to_contain_text("Nothing is removed")
