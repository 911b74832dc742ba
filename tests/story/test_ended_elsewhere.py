"""What is done to somebody elsewhere while they work: a session is ended, a role is changed.

The screens follow, say why, and what was typed waits for whoever typed it and for nobody else.
"""

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.story import acts, looking
from tests.story.conftest import new_context
from tests.story.serving import Server
from tests.story.walk import to

ADMINISTRATOR, MANAGER, FRONT_DESK, DENTIST = "standin", "exemplar", "demonstra", "samplewright"
ALWAYS_ONLINE = True


@pytest.fixture
def administrator(browser: Browser, server: Server):
    """An administrator at another desk."""
    context = new_context(browser, server)
    page = context.new_page()
    page.goto("/#/desk")
    acts.desk_sign_in(page, ADMINISTRATOR)
    yield page
    context.close()


def name_of(key: str) -> str:
    return acts.person(key)["display_name"]


def end_session(administrator: Page, key: str) -> None:
    """End somebody's session, as an administrator does it."""
    to(administrator, "#/practice")
    to(administrator, "#/practice/sessions")
    theirs = administrator.get_by_test_id("session").filter(has_text=name_of(key))
    theirs.first.get_by_test_id("session-end").click()
    expect(administrator.get_by_test_id("session-ended")).to_be_visible()


def give_roles(administrator: Page, key: str, *, no_longer: str, now: str) -> None:
    """Give somebody one role in place of another."""
    to(administrator, "#/practice/people")
    administrator.get_by_test_id("person-row").filter(has_text=name_of(key)).click()
    administrator.get_by_test_id("person-change").click()
    administrator.get_by_test_id(f"role-{now}").check()
    administrator.get_by_test_id(f"role-{no_longer}").uncheck()
    administrator.get_by_test_id("person-save").click()
    expect(administrator.get_by_test_id("person-change")).to_be_visible()


def register_somebody(desk: Page, name: str) -> None:
    """Begin to register a person, and do not save it."""
    to(desk, "#/practice/people/new")
    desk.get_by_test_id("person-name").fill(name)
    desk.get_by_test_id("role-assistant").check()


def test_a_session_ended_at_a_desk_keeps_what_was_typed_for_whoever_typed_it(
    desk: Page, administrator: Page
):
    acts.desk_sign_in(desk, MANAGER)
    register_somebody(desk, "Fern Tryout")
    end_session(administrator, MANAGER)
    desk.get_by_test_id("person-initials").fill("FT")
    desk.get_by_test_id("person-save").click()
    # The screen is gone with what it showed, and says what happened.
    expect(desk.get_by_test_id("desk-ended")).to_be_visible()
    expect(desk.get_by_test_id("typing-kept")).to_be_visible()
    expect(desk.get_by_test_id("person-name")).to_have_count(0)
    assert looking.look(desk, "a desk whose session was ended") == []
    acts.desk_sign_in(desk, MANAGER)
    expect(desk.get_by_test_id("person-name")).to_have_value("Fern Tryout")
    expect(desk.get_by_test_id("person-initials")).to_have_value("FT")
    expect(desk.get_by_test_id("role-assistant")).to_be_checked()
    desk.get_by_test_id("person-save").click()
    expect(desk.get_by_test_id("person-roles")).to_have_text("Assistant")

    # Whoever else signs in there begins with nothing of it.
    register_somebody(desk, "Moss Tryout")
    end_session(administrator, MANAGER)
    desk.get_by_test_id("person-initials").fill("MT")
    desk.get_by_test_id("person-save").click()
    expect(desk.get_by_test_id("desk-ended")).to_be_visible()
    desk.evaluate("window.sameMemory = true")
    acts.desk_sign_in(desk, ADMINISTRATOR)
    desk.wait_for_function("() => window.sameMemory === undefined")
    to(desk, "#/practice/people/new")
    expect(desk.get_by_test_id("person-name")).to_have_value("")
    expect(desk.get_by_test_id("role-assistant")).not_to_be_checked()


def test_who_signs_out_at_a_desk_leaves_nothing_in_its_memory(desk: Page):
    acts.desk_sign_in(desk, MANAGER)
    register_somebody(desk, "Reed Tryout")
    desk.evaluate("window.sameMemory = true")
    desk.get_by_test_id("desk-sign-out").click()
    expect(desk.get_by_test_id("desk-name")).to_be_visible()
    desk.wait_for_function("() => window.sameMemory === undefined")
    acts.desk_sign_in(desk, MANAGER)
    to(desk, "#/practice/people/new")
    expect(desk.get_by_test_id("person-name")).to_have_value("")


def test_another_tab_of_whoever_signed_out_is_not_used_by_who_comes_after(desk: Page):
    acts.desk_sign_in(desk, MANAGER)
    other = desk.context.new_page()
    other.goto("/#/practice/people/new")
    other.get_by_test_id("person-name").fill("Sedge Tryout")
    other.get_by_test_id("person-initials").fill("ST")
    other.get_by_test_id("role-assistant").check()
    desk.get_by_test_id("desk-sign-out").click()
    acts.desk_sign_in(desk, ADMINISTRATOR)
    other.evaluate("window.sameMemory = true")
    other.get_by_test_id("person-save").click()
    # Nothing is saved in the name of somebody who did not type it.
    other.wait_for_function("() => window.sameMemory === undefined")
    expect(other.get_by_test_id("who")).to_have_text(name_of(ADMINISTRATOR))
    to(desk, "#/practice/people")
    expect(desk.get_by_test_id("person-row").first).to_be_visible()
    expect(desk.get_by_test_id("person-row").filter(has_text="Sedge Tryout")).to_have_count(0)


def test_at_a_desk_screens_follow_a_changed_role(desk: Page, administrator: Page):
    acts.desk_sign_in(desk, FRONT_DESK)
    expect(desk.get_by_test_id("nav-records")).to_be_visible()
    expect(desk.get_by_test_id("queue-row").first).to_be_visible()
    give_roles(administrator, FRONT_DESK, no_longer="front_desk", now="administrator")
    # The next thing they go to, whatever it is.
    desk.get_by_test_id("nav-practice").click()
    expect(desk.get_by_test_id("nav-records")).to_have_count(0)
    to(desk, "#/practice/people")
    expect(desk.get_by_test_id("person-row").first).to_be_visible()
    assert desk.request.get("/api/v1/records").status == 403
    give_roles(administrator, FRONT_DESK, no_longer="administrator", now="front_desk")
    to(desk, "#/practice")
    expect(desk.get_by_test_id("nav-records")).to_be_visible()


def test_on_a_tablet_the_screen_closes_says_why_and_loses_nothing(
    tablet: Page, server: Server, administrator: Page
):
    acts.enrol(tablet, server.new_code(), "Tablet of a changed role")
    acts.sign_in(tablet, DENTIST)
    acts.plan_from_preset(tablet, "Frenum, fine")
    acts.open_case(tablet, chart="90861", initials="QZ")
    acts.answer_timeout(tablet)
    acts.all_sent(tablet)
    tablet.get_by_test_id("case-notes").click()
    tablet.get_by_test_id("note").fill("Half a sentence that nobody")
    acts.until_kept(tablet, "Half a sentence that nobody")
    end_session(administrator, DENTIST)
    acts.make_contact(tablet)
    shut = tablet.get_by_test_id("shut-because")
    expect(shut).to_be_visible(timeout=acts.ARRIVES_MS)
    expect(tablet.get_by_test_id("note")).to_have_count(0)
    assert looking.look(tablet, "a tablet whose session was ended") == []
    acts.sign_in(tablet, DENTIST)
    expect(tablet.get_by_test_id("note")).to_have_value("Half a sentence that nobody")

    give_roles(administrator, DENTIST, no_longer="clinician", now="front_desk")
    acts.make_contact(tablet)
    expect(shut).to_be_visible(timeout=acts.ARRIVES_MS)
    # In another role nothing more is written into the case, and it is there all the same.
    acts.sign_in(tablet, DENTIST)
    expect(shut).to_have_count(0)
    give_roles(administrator, DENTIST, no_longer="front_desk", now="clinician")
    acts.make_contact(tablet)
    expect(shut).to_be_visible(timeout=acts.ARRIVES_MS)
    acts.sign_in(tablet, DENTIST)
    to(tablet, "#/today")
    expect(tablet.get_by_text("90861").first).to_be_visible()
