"""Records on the tablet: found, told in sentences, moved to the right patient, made void."""

import pytest
from playwright.sync_api import Page, expect

from tests.story import acts, looking
from tests.story.served import documents, served_record
from tests.story.test_signing import go

OPERATOR, ASSISTANT, FRONT_DESK = "placeholder", "dummyfield", "demonstra"


@pytest.fixture
def records(server, tablet: Page) -> Page:
    acts.enrol(tablet, server.new_code())
    acts.sign_in(tablet, OPERATOR)
    tablet.get_by_test_id("nav-records").click()
    expect(tablet.get_by_test_id("record").nth(5)).to_be_visible()
    return tablet


def open_record(page: Page, chart: str) -> None:
    go(page, "records")
    page.get_by_test_id("record-search").fill(chart)
    page.get_by_test_id("record").filter(has_text=chart).first.click()
    expect(page.get_by_test_id("record-patient")).to_contain_text(chart)


def test_records_are_narrowed_and_the_history_reads_as_sentences(server, records: Page):
    page = records
    shown = page.get_by_test_id("record")
    served = documents(server, "record")
    everything = len(served)
    expect(shown).to_have_count(everything)
    page.get_by_test_id("filters-open").click()
    wrong = looking.look(page, "records with filters")
    page.get_by_test_id("filter-status").select_option("amended")
    expect(shown).to_have_count(sum(one["status"] == "amended" for one in served))
    page.get_by_test_id("filter-clear").click()
    expect(shown).to_have_count(everything)
    # The demo's days lie before whichever day this is; one of the middle leaves some out.
    middle = sorted(one["started_at"][:10] for one in served)[everything // 2]
    page.get_by_test_id("filter-from").fill(middle)
    expect(shown).not_to_have_count(everything)
    expect(shown.first).to_be_visible()
    page.get_by_test_id("filter-from").fill("")
    # Case and accents do not count, and every word must stand somewhere.
    page.get_by_test_id("record-search").fill("LÁBIAL q-10251")
    expect(page.get_by_test_id("record")).to_have_count(1)
    page.get_by_test_id("record-search").fill("nothing of the kind")
    expect(page.get_by_test_id("records-none")).to_be_visible()

    acts.go_offline(page)
    page.get_by_test_id("record-search").fill("Q-10172")
    expect(page.get_by_test_id("records-holdings")).to_contain_text("what this tablet holds")
    page.get_by_test_id("record").filter(has_text="Q-10172").first.click()
    page.get_by_test_id("history-open").click()
    expect(page.get_by_test_id("history-line").first).to_be_visible()
    lines = page.get_by_test_id("history-line").all_inner_texts()
    assert any("opened the case: Labial frenectomy" in line for line in lines)
    assert any("started pass 1" in line for line in lines)
    assert any("added an addendum. Reason: Follow-up visit" in line for line in lines)
    assert all("on Tablet in room" in line or "on a desk" in line for line in lines)
    wrong += looking.look(page, "record with history")
    page.context.set_offline(False)
    assert not wrong, "\n".join(wrong)


def test_a_record_of_the_wrong_patient_is_moved_without_a_network(server, records: Page, desk):
    page = records
    open_record(page, "Q-10245")
    acts.go_offline(page)
    page.get_by_test_id("wrong-open").click()
    page.get_by_test_id("record-move").click()
    wrong = looking.look(page, "move, first step")
    page.get_by_test_id("move-next").click()
    for field in ("move-chart", "move-second", "move-reason"):
        expect(page.get_by_test_id(f"{field}-wrong")).to_be_visible()
    page.get_by_test_id("move-chart").fill("Q-77001")
    page.get_by_test_id("move-second").fill("ZY")
    page.get_by_test_id("move-reason").fill("belongs to ZY, mistyped")
    page.get_by_test_id("move-next").click()
    # The reason stays under the old number, so it must not name the right patient.
    expect(page.get_by_test_id("move-reason-wrong")).to_be_visible()
    page.get_by_test_id("move-reason").fill("number mistyped")
    page.get_by_test_id("move-next").click()
    for said in ("Q-10245", "Q-77001 ZY", "number mistyped", "2 passes", "signature of"):
        expect(page.get_by_test_id("move-what")).to_contain_text(said)
    wrong += looking.look(page, "move, second step")
    page.get_by_test_id("move-pin").fill("000000")
    page.get_by_test_id("move-go").click()
    expect(page.get_by_test_id("move-wrong")).to_be_visible()
    page.get_by_test_id("move-pin").fill(acts.person(OPERATOR)["pin"])
    page.get_by_test_id("move-go").click()
    expect(page.get_by_test_id("moving-done")).to_be_visible()
    expect(page.get_by_test_id("saved-state")).to_contain_text("Saved on this tablet")
    page.get_by_test_id("moving-go").click()
    expect(page.get_by_test_id("record-patient")).to_contain_text("Q-77001 ZY")

    go(page, "records")
    page.get_by_test_id("record-search").fill("q-10245")
    expect(page.get_by_test_id("tombstone")).to_contain_text("number mistyped")
    expect(page.get_by_test_id("record")).to_have_count(0)
    assert "Q-77001" not in page.get_by_test_id("tombstone").inner_text()

    page.context.set_offline(False)
    page.get_by_test_id("record-search").fill("Q-77001")
    page.get_by_test_id("record").filter(has_text="Q-77001").click()
    acts.on_server(page)
    record = served_record(server, "Q-77001")
    assert (record["status"], record["version"], record["flags"]) == ("amended", 2, [])

    acts.desk_sign_in(desk, FRONT_DESK)
    desk.get_by_test_id("nav-records").click()
    desk.get_by_test_id("desk-search").fill("Q-10245")
    desk.get_by_test_id("desk-search-go").click()
    expect(desk.get_by_test_id("tombstone")).to_contain_text("number mistyped")
    expect(desk.get_by_test_id("record")).to_have_count(0)
    assert "Q-77001" not in desk.locator("main").inner_text()
    assert not wrong, "\n".join(wrong)


def test_a_record_is_made_void_in_two_steps(server, records: Page):
    page = records
    open_record(page, "Q-10238")
    page.get_by_test_id("wrong-open").click()
    page.get_by_test_id("record-void").click()
    page.get_by_test_id("void-next").click()
    expect(page.get_by_test_id("void-reason-wrong")).to_be_visible()
    page.get_by_test_id("void-reason").fill("entered twice")
    page.get_by_test_id("void-next").click()
    expect(page.get_by_test_id("void-what")).to_contain_text("Q-10238")
    wrong = looking.look(page, "void, second step")
    page.get_by_test_id("void-pin").fill(acts.person(OPERATOR)["pin"])
    page.get_by_test_id("void-go").click()
    expect(page.get_by_test_id("moving-done")).to_be_visible()
    page.get_by_test_id("moving-go").click()
    expect(page.get_by_test_id("record-void-notice")).to_contain_text("entered twice")
    expect(page.get_by_test_id("addendum-save")).to_have_count(0)
    expect(page.get_by_test_id("wrong-open")).to_have_count(0)
    wrong += looking.look(page, "void record")
    acts.on_server(page)
    assert served_record(server, "Q-10238")["status"] == "void"
    assert not wrong, "\n".join(wrong)


def test_only_a_clinician_moves_or_voids(server, tablet: Page):
    acts.enrol(tablet, server.new_code())
    acts.sign_in(tablet, ASSISTANT)
    open_record(tablet, "Q-10260")
    expect(tablet.get_by_test_id("wrong-open")).to_have_count(0)
    expect(tablet.get_by_test_id("addendum-save")).to_have_count(0)
    record = served_record(server, "Q-10260")["record_id"]
    for screen in ("move", "void"):
        go(tablet, "records", record, screen)
        expect(tablet.get_by_test_id("move-leave")).to_be_visible()
        expect(tablet.get_by_test_id(f"{screen}-next")).to_have_count(0)
