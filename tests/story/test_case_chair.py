"""What a finger meets in a case: the running time, the lock screen, sizes, what is in sight."""

import pytest
from playwright.sync_api import Page, expect

from tests.story import acts, looking
from tests.story.case_acts import OPERATOR, PHONE, begin, entry, server_record


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
    with acts.nothing_lost():
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
    with acts.nothing_lost():
        expect(tablet.get_by_test_id("lock-stop")).to_be_visible()
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


def test_settings_for_the_next_pass_are_chosen_with_the_case_in_sight(server, tablet: Page):
    begin(tablet, server, chart="90681", label="Tablet N")
    planned = tablet.get_by_test_id("setting-power").inner_text()
    tablet.get_by_test_id("laser-start").click()
    tablet.get_by_test_id("other-settings").click()
    # Whose case it is, what is in force, what is saved; and the running time can be stopped here.
    expect(tablet.get_by_test_id("case-patient")).to_contain_text("90681")
    expect(tablet.get_by_test_id("saved-state")).to_be_visible()
    expect(tablet.get_by_test_id("case-in-force")).to_contain_text(planned)
    expect(tablet.get_by_test_id("plan-use")).to_have_count(0)
    # How high the bars are is measured once they are drawn, and then the one goes above the other.
    acts.until(
        tablet,
        lambda: [tablet.get_by_test_id(one).bounding_box() for one in ("laser-stop", "nav-today")],
        lambda boxes: boxes[0]["y"] + boxes[0]["height"] <= boxes[1]["y"],
        "the running time above the navigation",
    )
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
