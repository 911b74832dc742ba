"""An administrator looks after people at a desk; a tablet hears of it at its next contact."""

import re

from playwright.sync_api import Page, expect

from tests.story import acts
from tests.story.serving import Server
from tests.story.walk import here, to

ADMINISTRATOR, OPERATOR, MANAGER = "standin", "samplewright", "exemplar"


def people(desk: Page, key: str = ADMINISTRATOR) -> None:
    acts.desk_sign_in(desk, key)
    to(desk, "#/practice/people")
    expect(desk.get_by_test_id("person-row").first).to_be_visible()


def test_a_person_is_added_changed_and_given_a_link(desk: Page):
    people(desk)
    desk.get_by_test_id("person-new").click()
    desk.get_by_test_id("person-save").click()
    for field in ("person-name", "person-initials", "person-roles"):
        expect(desk.get_by_test_id(f"{field}-wrong")).to_be_visible()
    desk.get_by_test_id("person-name").click()
    desk.get_by_test_id("person-name").fill("Quill Tryout")
    desk.get_by_test_id("person-initials").fill("QT")
    desk.get_by_test_id("role-auditor").check()
    desk.get_by_test_id("person-save").click()
    expect(desk.get_by_test_id("auditor-until-wrong")).to_be_visible()
    desk.get_by_test_id("auditor-until").click()
    desk.get_by_test_id("auditor-until").fill("2099-05-01")
    desk.get_by_test_id("person-save").click()
    expect(desk.get_by_test_id("person-roles")).to_have_text("Auditor")
    expect(desk.get_by_text("Auditor through May 1, 2099")).to_be_visible()
    desk.get_by_test_id("person-change").click()
    desk.get_by_test_id("role-auditor").uncheck()
    desk.get_by_test_id("role-assistant").check()
    desk.get_by_test_id("person-save").click()
    name = acts.person(ADMINISTRATOR)["display_name"]
    lines = desk.get_by_test_id("person-line")
    expect(lines).to_have_count(2)
    expect(lines.first).to_contain_text(f"{name} gave this person the role Assistant.")
    expect(lines.first).to_contain_text(f"{name} took the role Auditor from this person.")
    expect(lines.last).to_contain_text(f"{name} registered this person as Auditor.")
    desk.get_by_test_id("link-invite").click()
    expect(desk.get_by_test_id("link-made")).to_be_visible()
    expect(desk.get_by_test_id("link-address")).to_have_value(re.compile("/#/welcome/"))


def test_a_manager_leaves_administrators_alone(desk: Page):
    people(desk, MANAGER)
    name = acts.person(ADMINISTRATOR)["display_name"]
    desk.get_by_test_id("person-row").filter(has_text=name).click()
    expect(desk.get_by_test_id("person-line").first).to_be_visible()
    expect(desk.get_by_test_id("person-end")).to_have_count(0)


def test_the_last_administrator_is_told_why_not(desk: Page):
    people(desk)
    name = acts.person(ADMINISTRATOR)["display_name"]
    desk.get_by_test_id("person-row").filter(has_text=name).click()
    desk.get_by_test_id("person-end").click()
    desk.get_by_test_id("end-go").click()
    expect(desk.get_by_text("This is the last administrator here.")).to_be_visible()


def test_whose_work_ends_is_locked_out_of_a_tablet(desk: Page, tablet: Page, server: Server):
    acts.enrol(tablet, server.new_code())
    acts.sign_in(tablet, OPERATOR)
    people(desk)
    who = acts.person(OPERATOR)
    desk.get_by_test_id("person-row").filter(has_text=who["display_name"]).click()
    desk.get_by_test_id("person-end").click()
    desk.get_by_test_id("end-reason").fill("Moved away")
    desk.get_by_test_id("end-go").click()
    expect(desk.get_by_test_id("person-left")).to_contain_text("Moved away")
    acts.make_contact(tablet)
    expect(tablet.get_by_test_id("people")).to_be_visible(timeout=acts.ARRIVES_MS)
    expect(tablet.get_by_test_id(f"person-{who['initials'].lower()}")).to_have_count(0)
    tablet.wait_for_function(
        """name => new Promise((done) => {
          const asked = indexedDB.open("house");
          asked.onsuccess = () => {
            const all = asked.result.transaction("people").objectStore("people").getAll();
            all.onsuccess = () => {
              asked.result.close();
              done(!all.result.some((one) => one.person.display_name === name));
            };
          };
        })""",
        arg=who["display_name"],
    )


def test_an_operator_outside_their_scope_is_asked_about_at_the_time_out(
    desk: Page, tablet: Page, server: Server
):
    acts.enrol(tablet, server.new_code())
    acts.sign_in(tablet, "placeholder")
    acts.plan_from_preset(tablet, "Frenum, fine")
    acts.open_case(tablet, chart="90555", initials="QX")
    expect(tablet.get_by_test_id("against-operator")).to_have_count(0)
    people(desk, "fixtureby")
    name = acts.person("placeholder")["display_name"]
    desk.get_by_test_id("person-row").filter(has_text=name).click()
    desk.get_by_test_id("scope-change").click()
    desk.get_by_test_id("scope-devices-some").check()
    desk.get_by_test_id("scope-save").click()
    expect(desk.get_by_test_id("scope-now")).to_contain_text("none")
    expect(desk.get_by_test_id("person-line").first).to_contain_text("decided what this person may")
    acts.make_contact(tablet)
    shown = tablet.get_by_test_id("against-operator")
    expect(shown).to_contain_text(
        f"This laser is outside what {name} may use here.", timeout=acts.ARRIVES_MS
    )
    # From here on without a network: what the tablet knows is enough.
    acts.go_offline(tablet)
    acts.answer_lines(tablet, "timeout")
    expect(tablet.get_by_test_id("timeout-finish")).to_be_disabled()
    tablet.get_by_test_id("reason-operator").fill("Supervised by the safety officer")
    tablet.get_by_test_id("timeout-finish").click()
    expect(tablet.get_by_test_id("timeout-done")).to_be_visible()
    expect(shown).to_have_count(0)
    case = "/".join(here(tablet).split("/")[:3])
    to(tablet, f"{case}/entries")
    expect(tablet.get_by_text("Supervised by the safety officer").first).to_be_visible()
    tablet.context.set_offline(False)
