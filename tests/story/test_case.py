"""A case at the chair: pauses, hand-over, corrections, the lock screen, several cases at once."""

import json
import sqlite3
from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.story import acts, looking

OPERATOR, ASSISTANT, OTHER_DENTIST = "placeholder", "dummyfield", "samplewright"
PHONE = {"width": 390, "height": 844}


def begin(tablet: Page, server, *, chart: str, label: str, known: str | None = None) -> None:
    """A case with a time-out and its first pass, opened without a network.

    Whoever is ``known`` has signed in before, and so can do so again without a network.
    """
    acts.enrol(tablet, server.new_code(), label)
    if known:
        acts.sign_in(tablet, known)
        tablet.get_by_test_id("lock").click()
    acts.sign_in(tablet, OPERATOR)
    tablet.evaluate("() => navigator.serviceWorker.ready.then(() => true)")
    # What was recorded here before has come before the network goes: forms offer from it.
    tablet.get_by_test_id("nav-records").click()
    expect(tablet.get_by_test_id("record").first).to_be_visible(timeout=30_000)
    tablet.context.set_offline(True)
    acts.plan_from_preset(tablet, "Frenum, fine")
    acts.open_case(tablet, chart=chart, initials="QX")
    acts.answer_timeout(tablet)
    tablet.get_by_test_id("pass-start").click()
    expect(tablet.get_by_test_id("case-pass")).to_contain_text("1")


def server_record(server, tablet: Page, chart: str) -> dict:
    """The record once all of it is on the server, from the server's own document."""
    tablet.context.set_offline(False)
    expect(tablet.get_by_test_id("saved-state").first).to_contain_text(
        "On the server", timeout=30_000
    )
    path = Path(server.environment["DOSEBOOK_DATA"]) / "dosebook.sqlite3"
    with sqlite3.connect(path) as database:
        rows = database.execute("SELECT body FROM document WHERE kind = 'record'").fetchall()
    found = [json.loads(text) for (text,) in rows]
    return next(one for one in found if (one["patient"] or {}).get("chart_number") == chart)


def entry(tablet: Page, text: str):
    return tablet.get_by_test_id("entry").filter(has_text=text)


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


def test_timing_goes_on_over_lock_and_reload_and_shows_no_patient(server, tablet: Page):
    begin(tablet, server, chart="90621", label="Tablet L")
    tablet.get_by_test_id("laser-start").click()
    tablet.get_by_test_id("lock").click()
    expect(tablet.get_by_test_id("lock-stop")).to_be_visible()
    content = tablet.content()
    assert "90621" not in content
    assert "upper lip" not in content
    tablet.get_by_test_id("lock-stop").click()
    expect(tablet.get_by_test_id("lock-kept")).to_contain_text("kept")
    acts.lift(tablet)
    first = float(tablet.get_by_test_id("lock-time").inner_text().split()[0])
    # A bounced finger neither starts what it has just stopped nor stops what it has just started.
    tablet.get_by_test_id("lock-start").dblclick()
    expect(tablet.get_by_test_id("lock-stop")).to_be_visible()
    # A second stretch of the same pass is added to the first.
    acts.lift(tablet)
    tablet.get_by_test_id("lock-stop").click()
    expect(tablet.get_by_test_id("lock-kept")).to_contain_text("kept")
    tablet.reload()
    expect(tablet.get_by_test_id("lock-time")).to_be_visible()
    both = float(tablet.get_by_test_id("lock-time").inner_text().split()[0])
    assert both >= first
    acts.sign_in(tablet, OPERATOR)
    # A stopped time waits for a decision: no screen says that it runs.
    tablet.get_by_test_id("case-leave").click()
    expect(tablet.get_by_test_id("open-case")).to_contain_text("not in the record yet")
    tablet.get_by_test_id("open-case-go").click()
    tablet.get_by_test_id("timer-keep").click()
    expect(tablet.get_by_test_id("pass-time")).to_contain_text("timer")
    # Running at a reload: nobody watched it. It is an estimate, and stays one at the next reload.
    tablet.get_by_test_id("laser-start").click()
    expect(tablet.get_by_test_id("laser-time")).to_have_attribute("data-kept", "yes")
    tablet.reload()
    tablet.get_by_test_id("lock-stop").click()
    expect(tablet.get_by_test_id("lock-kept")).to_contain_text("kept")
    tablet.reload()
    expect(tablet.get_by_test_id("lock-start")).to_be_visible()
    acts.sign_in(tablet, OPERATOR)
    tablet.get_by_test_id("timer-keep").click()
    expect(tablet.get_by_test_id("pass-time")).to_contain_text("estimate")
    record = server_record(server, tablet, "90621")
    assert [one["source"] for one in record["passes"][0]["laser_on"]] == ["timer", "estimate"]
    assert record["passes"][0]["laser_on"][0]["seconds"] == pytest.approx(both)


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


def test_a_start_that_cannot_be_written_down_is_said(server, tablet: Page):
    begin(tablet, server, chart="90631", label="Tablet W")
    tablet.evaluate("""() => {
      const put = IDBObjectStore.prototype.put;
      window.mend = () => { IDBObjectStore.prototype.put = put; };
      IDBObjectStore.prototype.put = function (...given) {
        if (this.name === "live") throw new DOMException("full", "QuotaExceededError");
        return put.apply(this, given);
      };
    }""")
    tablet.get_by_test_id("laser-start").click()
    expect(tablet.get_by_test_id("timer-unkept")).to_be_visible()
    expect(tablet.get_by_test_id("laser-stop")).to_be_enabled()
    tablet.evaluate("() => window.mend()")
    tablet.get_by_test_id("timer-keep-start").click()
    expect(tablet.get_by_test_id("timer-unkept")).to_have_count(0)
    tablet.get_by_test_id("laser-stop").click()
    expect(tablet.get_by_test_id("pass-time")).to_contain_text("timer")


def test_two_cases_are_open_at_once_and_keep_apart(server, tablet: Page):
    begin(tablet, server, chart="90641", label="Tablet T")
    tablet.get_by_test_id("laser-start").click()
    tablet.get_by_test_id("case-leave").click()
    tablet.get_by_test_id("start-preset").first.click()
    tablet.get_by_test_id("plan-use").click()
    # People and room come from the last case, nothing about its patient does.
    expect(tablet.get_by_test_id("taken-over")).to_be_visible()
    for field in ("chart-number", "second-identifier", "site", "indication", "anaesthesia"):
        assert tablet.get_by_test_id(field).input_value() == ""
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


def test_what_is_pressed_at_the_chair_is_20_mm_on_three_kinds_of_glass(server, tablet: Page):
    begin(tablet, server, chart="90651", label="Tablet S")
    acts.add_time(tablet, "5", "estimate")
    tablet.get_by_test_id("power-plus").click()
    expect(tablet.get_by_test_id("again-1")).to_be_visible()
    # 96 px an inch as CSS defines, 132 and 160 as tablets and telephones have them.
    for px_per_inch in (96, 132, 160):
        px_per_mm = px_per_inch / 25.4
        tablet.evaluate(
            "(mm) => document.documentElement.style.setProperty('--mm', `${mm}px`)", px_per_mm
        )

        def small(control: str, least: float = 20 * px_per_mm) -> bool:
            box = tablet.get_by_test_id(control).bounding_box()
            return min(box["width"], box["height"]) < least - 0.5

        for control in ("power-minus", "power-plus", "again-1", "laser-start"):
            assert not small(control), (control, px_per_inch)
        tablet.get_by_test_id("laser-start").click()
        assert not small("laser-stop"), px_per_inch
        tablet.get_by_test_id("lock").click()
        assert not small("lock-stop"), px_per_inch
        tablet.get_by_test_id("lock-stop").click()
        assert not small("lock-start"), px_per_inch
        acts.sign_in(tablet, OPERATOR)
        for control in ("timer-keep", "timer-drop"):
            assert not small(control), (control, px_per_inch)
        tablet.get_by_test_id("timer-drop").click()


def test_every_screen_of_a_case_can_be_used_by_everybody(server, tablet: Page):
    begin(tablet, server, chart="90661", label="Tablet A")
    acts.add_time(tablet, "5", "estimate")
    tablet.get_by_test_id("power-plus").click()
    expect(tablet.get_by_test_id("case-pass")).to_contain_text("2")
    wrong = looking.look(tablet, "working")
    for view in ("pause", "hand-over", "protection", "lists", "notes", "entries"):
        tablet.get_by_test_id(f"case-{view}").click()
        expect(tablet.get_by_test_id("case-back").first).to_be_visible()
        wrong += looking.look(tablet, view)
        tablet.get_by_test_id("case-back").first.click()
    tablet.get_by_test_id("case-entries").click()
    for text in ("Pass 1", "5 s", "90661"):
        entry(tablet, text).last.get_by_role("button", name="Correct").click()
        expect(tablet.get_by_test_id("correct-save")).to_be_visible()
        wrong += looking.look(tablet, f"correct {text}")
        tablet.get_by_test_id("correct-cancel").click()
    assert wrong == [], "\n".join(wrong)


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
    tablet.get_by_test_id("plan-power-plus").click()
    half_made = tablet.get_by_test_id("plan-power").input_value()
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


def test_settings_for_the_next_pass_are_chosen_with_the_case_in_sight(server, tablet: Page):
    begin(tablet, server, chart="90681", label="Tablet N")
    planned = tablet.get_by_test_id("setting-power").inner_text().replace("\u00a0", " ")
    tablet.get_by_test_id("laser-start").click()
    tablet.get_by_test_id("other-settings").click()
    # Whose case it is, what is in force, what is saved; and the running time can be stopped here.
    expect(tablet.get_by_test_id("case-patient")).to_contain_text("90681")
    expect(tablet.get_by_test_id("saved-state")).to_be_visible()
    assert planned in tablet.get_by_test_id("case-in-force").inner_text().replace("\u00a0", " ")
    expect(tablet.get_by_test_id("plan-use")).to_have_count(0)
    bar = tablet.get_by_test_id("laser-stop").bounding_box()
    below = tablet.get_by_test_id("nav-today").bounding_box()
    assert bar["y"] + bar["height"] <= below["y"]
    tablet.get_by_test_id("laser-stop").click()
    expect(tablet.get_by_test_id("plan-use")).to_be_visible()
    tablet.get_by_test_id("plan-handpiece").get_by_text("Handpiece, broad focus").click()
    tablet.get_by_test_id("case-back").click()
    expect(tablet.get_by_test_id("pass-time")).to_contain_text("timer")
    expect(tablet.get_by_test_id("case-pass")).to_contain_text("1")
    # Back to an earlier pass says which tip that was, whenever it is not the one in use.
    tablet.get_by_test_id("other-settings").click()
    tablet.get_by_test_id("plan-use").click()
    expect(tablet.get_by_test_id("case-pass")).to_contain_text("2")
    expect(tablet.get_by_test_id("again-1")).to_contain_text("Handpiece, fine focus")


def test_what_one_person_did_the_next_is_not_offered_to_undo(server, tablet: Page):
    begin(tablet, server, chart="90691", label="Tablet U", known=ASSISTANT)
    tablet.get_by_test_id("power-plus").click()
    expect(tablet.get_by_test_id("undo")).to_be_visible()
    tablet.get_by_test_id("lock").click()
    acts.sign_in(tablet, ASSISTANT)
    expect(tablet.get_by_test_id("case-pass")).to_contain_text("2")
    expect(tablet.get_by_test_id("undo")).to_have_count(0)


def test_a_running_time_is_in_sight_and_stopped_from_every_screen(server, tablet: Page):
    begin(tablet, server, chart="90701", label="Tablet R")
    tablet.get_by_test_id("laser-start").click()
    expect(tablet.get_by_test_id("timer-strip")).to_have_count(0)
    tablet.get_by_test_id("case-leave").click()
    tablet.get_by_test_id("nav-records").click()
    expect(tablet.get_by_test_id("strip-time")).to_contain_text("running")
    tablet.get_by_test_id("strip-stop").click()
    expect(tablet.get_by_test_id("strip-time")).to_contain_text("not in the record yet")
    assert not looking.look(tablet, "records with a time that waits")
    # On a telephone too what has to be decided about a time is in the window, not under its end.
    tablet.set_viewport_size(PHONE)
    tablet.get_by_test_id("strip-case").click()
    expect(tablet.get_by_test_id("timer-drop")).to_be_in_viewport(ratio=1)
    tablet.get_by_test_id("timer-keep").click()
    expect(tablet.get_by_test_id("pass-time")).to_contain_text("timer")
    tablet.get_by_test_id("case-leave").click()
    expect(tablet.get_by_test_id("timer-strip")).to_have_count(0)
