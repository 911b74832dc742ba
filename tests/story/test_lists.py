"""Lists from the safety officer's change to the record: read, answered, late, in conflict.

Pace of the scripted touches: one tap a second (common practice, no source), and where something
has to be looked at before it is answered, four seconds more (this project's own choice).
"""

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from playwright.sync_api import Page, expect

from api.clock import parse_rfc3339
from api.safety.lateness import lateness
from tests.story import acts, looking
from tests.story.list_acts import (
    answer_all,
    begin_case,
    big_enough,
    change_person,
    edit_list,
    open_list,
    publish,
    synced,
    tap,
)
from tests.story.served import list_document, person_id, served_record

OFFICER, OPERATOR, ASSISTANT = "fixtureby", "placeholder", "dummyfield"
SECONDS_A_TAP, SECONDS_A_LOOK = 1, 4
ZONE = ZoneInfo(acts.HOUSE["location"]["zone"])


def test_from_a_change_to_the_record(server, enrolled: Page):
    page = enrolled
    # Who has signed in here before can do so without a network, too.
    acts.sign_in(page, OPERATOR)
    change_person(page, OFFICER)

    # The officer rewords, adds, moves and groups, looks at it as the chair will, and publishes.
    number = edit_list(page, "before_patient")
    expect(page.get_by_test_id("list-publish-go")).to_be_disabled()
    first = page.get_by_test_id("item-text-1")
    first.fill(f"Today's check of this laser was passed, said version {number}")
    page.get_by_test_id("item-insert-1").click()
    added = page.get_by_test_id("item-text-2")
    added.fill("")
    page.get_by_test_id("list-publish-go").click()
    expect(page.get_by_test_id("item-text-2-wrong")).to_be_visible()
    added.fill(f"Cable and arm looked at, version {number}")
    page.get_by_test_id("item-more-2-open").click()
    page.get_by_test_id("item-why-2").fill("A crack leaks the beam.")
    page.get_by_test_id("item-up-2").click()
    expect(first).to_have_value(f"Cable and arm looked at, version {number}")
    page.get_by_test_id("list-preview").click()
    expect(page.get_by_test_id("preview-question")).to_have_text(
        f"Cable and arm looked at, version {number}"
    )
    expect(page.get_by_test_id("preview-why")).to_have_text("A crack leaks the beam.")
    page.get_by_test_id("preview-yes").click()
    expect(page.get_by_test_id("preview-progress")).to_contain_text("1 of")
    page.get_by_test_id("list-preview-back").click()
    # What was typed survives leaving, locking and a reload.
    acts.until_kept(page, "A crack leaks the beam.")
    page.reload()
    acts.sign_in(page, OFFICER)
    open_list(page, "before_patient")
    page.get_by_test_id("list-edit").click()
    with acts.nothing_lost():
        expect(first).to_have_value(f"Cable and arm looked at, version {number}")
    today = datetime.now(ZONE).date()
    publish(page, day=today.isoformat(), ask=True)
    expect(page.get_by_test_id("list-in-force")).to_contain_text(f"Version {number} is in force")

    # A version for later leaves this one in force until its day.
    assert edit_list(page, "before_patient") == number + 1
    first.fill("Something for later")
    later = (today + timedelta(days=3)).isoformat()
    page.get_by_test_id("effective").get_by_text("On a day").click()
    page.locator("#effective-day").fill((today - timedelta(days=1)).isoformat())
    page.get_by_test_id("list-publish-go").click()
    expect(page.get_by_test_id("effective-day-wrong")).to_be_visible()
    publish(page, day=later)
    expect(page.get_by_test_id("list-in-force")).to_contain_text(f"Version {number} is in force")
    expect(page.get_by_test_id("list-coming")).to_contain_text(f"Version {number + 1}")
    synced(page)
    kept = list_document(server, "before_patient")
    assert [one["version"] for one in kept["versions"]] == list(range(1, number + 2))
    assert kept["versions"][-1]["effective_from"] == later
    assert kept["versions"][-2]["needs_acknowledgement"] is True
    assert kept["drafts"] == []

    # The assistant is told on the first screen, reads it, says so; the officer sees who has not.
    change_person(page, ASSISTANT)
    page.get_by_test_id("list-to-read").filter(has_text="Before each patient").click()
    page.get_by_test_id("list-acknowledge").click()
    expect(page.get_by_test_id("list-in-force")).to_be_visible()
    expect(page.get_by_test_id("list-edit")).to_have_count(0)
    page.goto("/#/today")
    expect(page.get_by_test_id("new-case")).to_be_visible()
    expect(page.get_by_test_id("list-to-read")).to_have_count(0)
    change_person(page, OFFICER)
    open_list(page, "before_patient")
    expect(page.get_by_test_id("list-has-read")).to_have_count(1)
    expect(page.get_by_test_id("list-has-read")).to_contain_text(
        acts.person(ASSISTANT)["display_name"]
    )
    expect(page.get_by_test_id("list-has-not-read")).to_have_count(2)

    # Without a network: the list before the patient, with a no, broken off and gone on with.
    change_person(page, ASSISTANT)
    acts.go_offline(page)
    chart = f"L-{page.viewport_size['width']}"
    begin_case(page, chart)
    tap(page, "offer-before_patient-go")
    expect(page.get_by_test_id("list-question")).to_have_text(
        f"Cable and arm looked at, version {number}"
    )
    big_enough(page, "list-yes", "list-no", "list-na")
    acts.answer_line(page, "list", "yes", 1)
    acts.answer_line(page, "list", "yes", 2)
    tap(page, "list-no")
    expect(page.get_by_test_id("list-note")).to_be_focused()
    expect(page.get_by_test_id("list-note-save")).to_be_disabled()
    page.get_by_test_id("list-note").fill("Supervised by the other dentist")
    acts.until_kept(page, "Supervised by the other dentist")
    page.reload()
    acts.sign_in(page, ASSISTANT)
    with acts.nothing_lost():
        expect(page.get_by_test_id("list-note")).to_have_value("Supervised by the other dentist")
    tap(page, "list-note-save")
    expect(page.get_by_test_id("list-progress")).to_contain_text("3 of")
    page.get_by_test_id("lock").click()
    acts.sign_in(page, OPERATOR)
    expect(page.get_by_test_id("list-progress")).to_contain_text("3 of")
    answer_all(page, "list", done=3)
    expect(page.get_by_test_id("timeout")).to_be_visible()
    change_person(page, ASSISTANT)

    # The time-out, spoken: every line its own tap, and one to complete it, within 20 s.
    expect(page.get_by_test_id("timeout-question")).to_be_visible()
    big_enough(page, "timeout-yes", "timeout-no", "timeout-na")
    taps = answer_all(page, "timeout")
    assert taps * SECONDS_A_TAP <= 20
    expect(page.get_by_test_id("timeout-done")).to_be_visible()
    page.get_by_test_id("pass-start").click()
    expect(page.get_by_test_id("case-pass")).to_contain_text("1")
    acts.add_time(page, "12.5", "device-counter")

    # After use, before the signature, within 60 s.
    page.get_by_test_id("case-end").click()
    page.get_by_test_id("end-now").click()
    expect(page.get_by_test_id("after-use")).to_be_visible()
    tap(page, "offer-after_use-go")
    expect(page.get_by_test_id("list-question")).to_be_visible()
    big_enough(page, "list-yes", "list-no", "list-na")
    taps = answer_all(page, "list")
    assert taps * (SECONDS_A_TAP + SECONDS_A_LOOK) <= 60
    expect(page.get_by_test_id("read-back")).to_be_visible()
    expect(page.get_by_test_id("after-use")).to_have_count(0)
    expect(page.get_by_test_id("list-state-before_patient")).to_contain_text("answered at")

    page.context.set_offline(False)
    synced(page)
    record = served_record(server, chart)
    assert record["flags"] == []
    assert {row["kind"]: row["state"] for row in lateness(record)} == {
        "before_patient": "in time",
        "time_out": "in time",
        "after_use": "in time",
    }
    before, after = record["lists"]
    assert (before["kind"], before["list_version"], after["kind"]) == (
        "before_patient",
        number,
        "after_use",
    )
    moments = [parse_rfc3339(one["answered_at"]) for one in before["answers"]]
    assert moments == sorted(moments) and len(set(moments)) == len(moments)
    by = [one["by"] for one in before["answers"]]
    assert set(by[:3]) == {person_id(server, ASSISTANT)}
    assert set(by[3:]) == {person_id(server, OPERATOR)}
    assert [
        (one["answer"], one["note"]) for one in before["answers"] if one["answer"] != "yes"
    ] == [("no", "Supervised by the other dentist")]
    assert record["time_out"]["led_by"] == person_id(server, OPERATOR)


def test_an_answer_is_taken_back_and_a_late_list_is_called_late(server, enrolled: Page):
    page = enrolled
    acts.sign_in(page, OPERATOR)
    chart = f"M-{page.viewport_size['width']}"
    begin_case(page, chart)
    acts.answer_line(page, "timeout", "yes", 1)
    tap(page, "undo")
    expect(page.get_by_test_id("timeout-progress")).to_contain_text("0 of")
    answer_all(page, "timeout")
    expect(page.get_by_test_id("timeout-done")).to_be_visible()
    # The whole list, too, within the ten seconds; then it is answered as it stood.
    tap(page, "undo")
    tap(page, "timeout-now")
    expect(page.get_by_test_id("timeout-all")).to_be_visible()
    tap(page, "timeout-finish")
    expect(page.get_by_test_id("timeout-done")).to_be_visible()

    page.get_by_test_id("pass-start").click()
    expect(page.get_by_test_id("case-pass")).to_contain_text("1")
    acts.add_time(page, "5", "estimate")
    page.goto(page.url + "/lists")
    expect(page.get_by_test_id("list-state-before_patient")).to_have_text(
        "Before each patient: not answered"
    )
    tap(page, "answer-before_patient")
    answer_all(page, "list")
    page.get_by_test_id("case-end").click()
    page.get_by_test_id("end-now").click()
    said = page.get_by_test_id("lists-answered")
    expect(said.get_by_test_id("list-state-before_patient")).to_contain_text("answered late")
    expect(said.get_by_test_id("list-state-after_use")).to_have_text("After use: not answered")
    synced(page)
    record = served_record(server, chart)
    assert {row["kind"]: row["state"] for row in lateness(record)} == {
        "before_patient": "late",
        "time_out": "in time",
        "after_use": "not answered",
    }
    assert sum(not line["effective"] for line in record["history"]) == 1


def test_every_screen_of_the_lists(server, tablet: Page):
    acts.enrol(tablet, server.new_code())
    acts.sign_in(tablet, OFFICER)
    tablet.goto("/#/practice/lists")
    expect(tablet.get_by_test_id("list-time_out")).to_be_visible()
    wrong = looking.look(tablet, "lists")
    open_list(tablet, "time_out")
    tablet.get_by_test_id("list-version-1-open").click()
    wrong += looking.look(tablet, "list")
    tablet.get_by_test_id("list-edit").click()
    tablet.get_by_test_id("item-more-1-open").click()
    tablet.get_by_test_id("effective").get_by_text("On a day").click()
    wrong += looking.look(tablet, "change of a list")
    tablet.get_by_test_id("list-preview").click()
    tablet.get_by_test_id("preview-no").click()
    wrong += looking.look(tablet, "preview of a list")
    # A first list, begun from the common wording: offered, and marked as still to be gone through.
    tablet.goto("/#/practice/lists/new/pause")
    tablet.get_by_test_id("list-starter-take").click()
    expect(tablet.get_by_test_id("list-item")).to_have_count(3)
    expect(tablet.get_by_test_id("list-starter-note")).to_contain_text("Common practice")
    expect(tablet.get_by_test_id("list-starter")).to_have_count(0)
    wrong += looking.look(tablet, "list begun from a starter")
    tablet.get_by_test_id("list-discard").click()
    expect(tablet.get_by_test_id("list-starter")).to_be_visible()
    begin_case(tablet, "L-look")
    tablet.get_by_test_id("timeout-no").click()
    expect(tablet.get_by_test_id("timeout-note")).to_be_visible()
    wrong += looking.look(tablet, "answering")
    tablet.get_by_test_id("timeout-yes").click()
    acts.answer_timeout(tablet, done=1)
    tablet.goto(tablet.url + "/lists")
    expect(tablet.get_by_test_id("list-marks")).to_be_visible()
    wrong += looking.look(tablet, "lists of a procedure")
    assert not wrong, "\n".join(wrong)
