"""A case and its record: pauses, hand-over, corrections, plans, several cases at once."""

import pytest
from playwright.sync_api import Page, expect

from tests.story import acts
from tests.story.case_acts import (
    ASSISTANT,
    OPERATOR,
    OTHER_DENTIST,
    PHONE,
    begin,
    entry,
    server_record,
)


@pytest.mark.parametrize("size", [None, PHONE], ids=["tablet", "phone"])
def test_pause_hand_over_and_protection_are_part_of_the_record(server, tablet: Page, size):
    if size:
        tablet.set_viewport_size(size)
    chart = f"9060{1 if size else 2}"
    begin(tablet, server, chart=chart, label=f"Tablet {chart}", known=ASSISTANT)
    acts.add_time(tablet, "6", "estimate")
    # What the numbers at the head rest on, one tap away; and back.
    tablet.get_by_test_id("case-dose").click()
    tablet.get_by_test_id("dose-irradiance_mean-open").click()
    opened = tablet.get_by_test_id("head-numbers")
    for part in ("4 P ÷ (π d²)", "handpiece register", "Status"):
        expect(opened).to_contain_text(part)
    tablet.get_by_test_id("case-back").click()
    tablet.get_by_test_id("case-protection").click()
    # New eyewear is written, what was worn here before is a tap.
    tablet.get_by_test_id("worn-0-other").check()
    tablet.get_by_test_id("worn-label-0").fill("Goggles 30")
    tablet.get_by_test_id("worn-density-0").fill("5,5")
    tablet.get_by_test_id("worn-1").get_by_text("Patient's shields 1").click()
    expect(tablet.get_by_test_id("eyewear-missing")).to_have_count(0)
    tablet.get_by_test_id("heads-plus").click()
    expect(tablet.get_by_test_id("eyewear-missing")).to_be_visible()
    tablet.get_by_test_id("heads-minus").click()
    tablet.get_by_test_id("evacuator").fill("on, nozzle 4 cm from the site")
    tablet.get_by_test_id("masks-take-0").click()
    tablet.get_by_test_id("protection-save").click()
    expect(tablet.get_by_test_id("protection-done")).to_be_visible()

    tablet.get_by_test_id("case-pause").click()
    tablet.get_by_test_id("pause-for-rest").click()
    expect(tablet.get_by_test_id("paused")).to_contain_text("Patient needs a break")
    # The list of this pause, once answered, is said to be answered and not asked for again.
    tablet.get_by_test_id("pause-list").click()
    acts.answer_lines(tablet, "list")
    tablet.get_by_test_id("list-finish").click()
    expect(tablet.get_by_test_id("paused")).to_contain_text("answered at")
    expect(tablet.get_by_test_id("pause-list")).to_have_count(0)
    tablet.get_by_test_id("pause-resume").click()
    expect(tablet.get_by_test_id("paused")).to_have_count(0)

    # A note half written by one person does not cross to the next.
    tablet.get_by_test_id("case-notes").click()
    tablet.get_by_test_id("note").fill("half a sentence of the dentist")
    tablet.get_by_test_id("case-back").click()
    tablet.get_by_test_id("case-hand-over").click()
    who = acts.person(ASSISTANT)
    tablet.get_by_test_id("hand-over-to").get_by_text(who["display_name"]).click()
    tablet.get_by_test_id("hand-over-lock").click()
    acts.sign_in(tablet, ASSISTANT)
    expect(tablet.get_by_test_id("case-patient")).to_contain_text(chart)
    tablet.get_by_test_id("case-notes").click()
    expect(tablet.get_by_test_id("note")).to_have_value("")
    tablet.get_by_test_id("note").fill("written by the assistant")
    tablet.get_by_test_id("note-add").click()
    expect(tablet.get_by_test_id("notes")).to_contain_text("written by the assistant")
    tablet.get_by_test_id("lock").click()
    acts.sign_in(tablet, OPERATOR)
    tablet.get_by_test_id("case-back").click()
    tablet.get_by_test_id("case-hand-over").click()
    tablet.get_by_test_id("hand-over-role-operator").check()
    tablet.get_by_test_id("hand-over-to").get_by_text(
        acts.person(OTHER_DENTIST)["display_name"]
    ).click()
    tablet.get_by_test_id("hand-over-go").click()
    tablet.get_by_test_id("power-plus").click()
    expect(tablet.get_by_test_id("case-pass")).to_contain_text("2")

    record = server_record(server, tablet, chart)
    assert record["flags"] == []
    assert [one["role"] for one in record["handovers"]] == ["recorder", "operator"]
    assert len(record["pauses"]) == 1
    assert record["pauses"][0]["to_at"] is not None
    protection = record["protection"]
    assert protection["heads"] == 2
    assert [one["label"] for one in protection["eyewear"]] == ["Goggles 30", "Patient's shields 1"]
    # The second as the demo's own records have it.
    assert [one["optical_density"] for one in protection["eyewear"]] == ["5.5", "5"]
    assert protection["eyewear"][1]["wavelength"] == "9000-11500 nm"
    assert protection["masks"] == "High-filtration masks"
    first, second = record["passes"]
    assert first["operator_id"] != second["operator_id"] == record["operator_id"]
    by = {one["text"]: one["by"] for one in record["notes"]}
    assert by["written by the assistant"] == record["handovers"][0]["to_id"]


def test_an_entry_is_put_right_and_both_stay_in_the_history(server, tablet: Page):
    begin(tablet, server, chart="90611", label="Tablet C")
    acts.add_time(tablet, "12.5", "device-counter")
    tablet.get_by_test_id("case-entries").click()
    entry(tablet, "12.5").get_by_role("button", name="Correct").click()
    expect(tablet.get_by_test_id("time-seconds")).to_have_value("12.5")
    expect(tablet.get_by_test_id("correct-save")).to_be_disabled()
    tablet.get_by_test_id("time-seconds").fill("13,5")
    tablet.get_by_test_id("correct-save").click()
    expect(entry(tablet, "13.5").get_by_test_id("entry-was")).to_contain_text("12.5")

    entry(tablet, "Pass 1").get_by_role("button", name="Correct").click()
    tablet.get_by_test_id("correct-power").fill("2.5")
    tablet.get_by_test_id("correct-save").click()
    expect(entry(tablet, "Pass 1").get_by_test_id("entry-now")).to_contain_text("2.5")
    tablet.get_by_test_id("undo").click()
    expect(entry(tablet, "Pass 1").get_by_test_id("entry-now")).not_to_contain_text("2.5")

    entry(tablet, "90611").get_by_role("button", name="Correct").click()
    expect(tablet.get_by_test_id("site")).to_have_value("upper lip, midline")
    tablet.get_by_test_id("site").fill("lower lip, midline")
    tablet.get_by_test_id("correct-save").click()
    expect(tablet.get_by_test_id("case-patient")).to_contain_text("lower lip")

    entry(tablet, "13.5").get_by_role("button", name="Take back").click()
    expect(tablet.get_by_test_id("take-back-now")).to_be_disabled()
    tablet.get_by_test_id("take-back-reason").fill("belongs to another pass")
    tablet.get_by_test_id("take-back-now").click()
    expect(tablet.get_by_test_id("entry-back")).to_have_count(1)
    record = server_record(server, tablet, "90611")
    assert record["flags"] == []
    assert record["site"] == "lower lip, midline"
    assert record["passes"][0]["laser_on"] == []
    # The time and its correction, the pass with its correction taken back, the opening twice.
    types = [one["type"] for one in record["history"]]
    assert types.count("laser.emitted") == 2
    assert types.count("pass.started") == 2
    assert types.count("procedure.opened") == 2
    assert types.count("entry.withdrawn") == 2


def test_a_time_put_right_by_hand_is_no_longer_the_timers(server, tablet: Page):
    begin(tablet, server, chart="90612", label="Tablet T")
    tablet.get_by_test_id("laser-start").click()
    expect(tablet.get_by_test_id("laser-time")).to_have_attribute("data-kept", "yes")
    acts.lift(tablet)
    tablet.get_by_test_id("laser-stop").click()
    expect(tablet.get_by_test_id("pass-time")).to_contain_text("timer")
    tablet.get_by_test_id("case-entries").click()
    entry(tablet, "timer").get_by_role("button", name="Correct").click()
    expect(tablet.get_by_test_id("time-source-timer")).to_be_checked()
    tablet.get_by_test_id("time-seconds").fill("13,5")
    # How the new time is known has to be said; until then nothing is kept.
    expect(tablet.get_by_test_id("time-source-timer")).to_have_count(0)
    expect(tablet.get_by_test_id("time-source-wrong")).to_contain_text("say how it is known")
    expect(tablet.get_by_test_id("correct-save")).to_be_disabled()
    tablet.get_by_test_id("time-source-tone").check()
    tablet.get_by_test_id("correct-save").click()
    expect(entry(tablet, "13.5").get_by_test_id("entry-was")).to_contain_text("timer")
    record = server_record(server, tablet, "90612")
    assert record["passes"][0]["sources"] == ["tone"]
    assert [one["seconds"] for one in record["passes"][0]["laser_on"]] == [13.5]


def test_an_assistant_opens_with_what_is_known_and_protects_by_taps(server, tablet: Page):
    acts.enrol(tablet, server.new_code(), "Tablet A")
    acts.sign_in(tablet, ASSISTANT)
    who = acts.person(ASSISTANT)["display_name"]
    acts.plan_from_preset(tablet, "Frenum, fine")
    # Who opens it assists, and the preset says what is done.
    expect(tablet.get_by_test_id("assisting")).to_contain_text(who)
    kind = tablet.get_by_test_id("procedure-kind").locator("option:checked")
    expect(kind).to_contain_text("renectomy")
    tablet.get_by_test_id("chart-number").fill("90651")
    tablet.get_by_test_id("second-identifier").fill("QA")
    tablet.get_by_test_id("site").fill("upper lip, midline")
    tablet.get_by_test_id("indication").fill("frenum pulls at the papilla")
    tablet.get_by_test_id("operator").select_option(label=acts.person(OPERATOR)["display_name"])
    tablet.get_by_test_id("case-open").click()
    expect(tablet.get_by_test_id("timeout")).to_be_visible()
    acts.answer_timeout(tablet)
    tablet.get_by_test_id("case-protection").click()
    # Operator, assistant and patient are there already, and a tap says what each of them wears.
    expect(tablet.get_by_test_id("worn")).to_have_count(3)
    for head in range(3):
        tablet.get_by_test_id(f"worn-{head}-{head}").check()
    expect(tablet.get_by_test_id("eyewear-missing")).to_have_count(0)
    tablet.get_by_test_id("protection-save").click()
    expect(tablet.get_by_test_id("protection-done")).to_be_visible()
    record = server_record(server, tablet, "90651")
    assert record["assistant_ids"] == [record["history"][0]["by"]]
    assert len({one["wearer"] for one in record["protection"]["eyewear"]}) == 3


def test_two_cases_are_open_at_once_and_keep_apart(server, tablet: Page):
    begin(tablet, server, chart="90641", label="Tablet T")
    tablet.get_by_test_id("laser-start").click()
    tablet.get_by_test_id("case-leave").click()
    tablet.get_by_test_id("start-preset").first.click()
    tablet.get_by_test_id("plan-use").click()
    # People and room come from the last case, nothing about its patient does.
    expect(tablet.get_by_test_id("taken-over")).to_be_visible()
    for field in ("chart-number", "second-identifier", "site", "indication", "anaesthesia"):
        expect(tablet.get_by_test_id(field)).to_have_value("")
    acts.open_case(tablet, chart="90642", initials="QY")
    acts.answer_timeout(tablet)
    tablet.get_by_test_id("pass-start").click()
    expect(tablet.get_by_test_id("laser-start")).to_be_disabled()
    tablet.get_by_test_id("case-leave").click()
    expect(tablet.get_by_test_id("open-case")).to_have_count(2)
    tablet.get_by_test_id("open-case").filter(has_text="90641").get_by_role("button").click()
    tablet.get_by_test_id("laser-stop").click()
    expect(tablet.get_by_test_id("pass-time")).to_contain_text("timer")
    expect(tablet.get_by_test_id("case-patient")).to_contain_text("90641")


def test_the_plan_belongs_to_the_case_and_a_half_made_form_to_its_person(server, tablet: Page):
    acts.enrol(tablet, server.new_code(), "Tablet P")
    acts.sign_in(tablet, ASSISTANT)
    acts.plan_from_preset(tablet, "Frenum, fine")
    tablet.get_by_test_id("operator").select_option(label=acts.person(OPERATOR)["display_name"])
    acts.open_case(tablet, chart="90671", initials="QX")
    acts.answer_timeout(tablet)
    planned = tablet.get_by_test_id("setting-power").inner_text()
    # The assistant begins to choose something else, and is called away.
    tablet.get_by_test_id("other-settings").click()
    power = tablet.get_by_test_id("plan-power")
    before = power.input_value()
    tablet.get_by_test_id("plan-power-plus").click()
    expect(power).not_to_have_value(before)
    half_made = power.input_value()
    tablet.get_by_test_id("lock").click()
    acts.sign_in(tablet, OPERATOR)
    tablet.get_by_test_id("nav-today").click()
    tablet.get_by_test_id("open-case").get_by_role("button").click()
    # The dentist finds what was planned, and nothing of what the assistant had not used.
    expect(tablet.get_by_test_id("setting-power")).to_have_text(planned)
    tablet.get_by_test_id("other-settings").click()
    expect(tablet.get_by_test_id("plan-power")).not_to_have_value(half_made)
    tablet.get_by_test_id("plan-power-plus").click()
    tablet.get_by_test_id("plan-use").click()
    expect(tablet.get_by_test_id("setting-power")).not_to_have_text(planned)
    used = tablet.get_by_test_id("setting-power").inner_text()
    # What was used is the case's from then on, also for the assistant.
    tablet.get_by_test_id("lock").click()
    acts.sign_in(tablet, ASSISTANT)
    expect(tablet.get_by_test_id("setting-power")).to_have_text(used)
    tablet.get_by_test_id("pass-start").click()
    expect(tablet.get_by_test_id("case-pass")).to_contain_text("1")
    expect(tablet.get_by_test_id("setting-power")).to_have_text(used)


def test_what_one_person_did_the_next_is_not_offered_to_undo(server, tablet: Page):
    begin(tablet, server, chart="90691", label="Tablet U", known=ASSISTANT)
    tablet.get_by_test_id("power-plus").click()
    expect(tablet.get_by_test_id("undo")).to_be_visible()
    tablet.get_by_test_id("lock").click()
    acts.sign_in(tablet, ASSISTANT)
    expect(tablet.get_by_test_id("case-pass")).to_contain_text("2")
    expect(tablet.get_by_test_id("undo")).to_have_count(0)
