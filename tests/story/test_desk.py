"""The front desk: the queue by keyboard alone, papers to remove, copies given, rights."""

import time

import pytest
from playwright.sync_api import Page, expect

from tests.story import acts, looking
from tests.story.served import served_record
from tests.story.test_accessible import press
from tests.story.test_records import go

FRONT_DESK, CLINICIAN, AUDITOR, ADMINISTRATOR = "demonstra", "placeholder", "specimen", "standin"
RECORD_BUDGET_S = 20  # one record at the desk, from the open row to the next one


@pytest.fixture
def queue(server, desk: Page) -> Page:
    acts.desk_sign_in(desk, FRONT_DESK)
    expect(desk.get_by_test_id("queue-row").first).to_be_visible()
    return desk


def selected(page: Page):
    return page.locator("[data-testid=queue-row][aria-current=true]")


def chart_of(page: Page) -> str:
    return selected(page).locator(".strong").first.inner_text().split()[0]


def wait_for_paper(page: Page, chart: str) -> None:
    """The renderer is a process of its own; nobody works faster than it in earnest."""
    record_id = selected(page).get_by_test_id("queue-open").get_attribute("href").split("/")[-1]
    for _ in range(480):
        if page.request.get(f"/api/v1/records/{record_id}/pdf").status == 200:
            return
        page.wait_for_timeout(250)
    raise AssertionError(f"the paper of {chart} was never made")


def test_records_go_into_their_charts_by_keyboard_alone(server, queue: Page):
    page = queue
    wrong = looking.look(page, "queue")
    # The demo's second version: it is in the chart, and an addendum came after it.
    expect(page.get_by_test_id("queue-changes")).to_contain_text("Version 1 is in the chart")
    expect(page.get_by_test_id("queue-changes")).to_contain_text("Follow-up visit")
    waiting = page.get_by_test_id("queue-row").count()
    took = []
    for _ in range(2):
        chart = chart_of(page)
        wait_for_paper(page, chart)
        began = time.monotonic()
        with page.context.expect_page() as opened:
            press(page, "queue-pdf")
        opened.value.close()
        press(page, "queue-copy")
        expect(selected(page).get_by_test_id("queue-row-said")).to_contain_text("Copied")
        assert chart in page.evaluate("() => navigator.clipboard.readText()")
        press(page, "queue-place")
        expect(page.get_by_test_id("queue-marked")).to_contain_text(chart)
        took.append(time.monotonic() - began)
        waiting -= 1
        expect(page.get_by_test_id("queue-row")).to_have_count(waiting)
        # The next one is open already, and the keyboard is at its first button.
        expect(selected(page).get_by_test_id("queue-pdf")).to_be_focused()
        assert chart_of(page) != chart
    # Whoever else uses the machine can only slow it down, so the quicker counts.
    assert min(took) < RECORD_BUDGET_S
    wrong += looking.look(page, "queue after placing")

    # A placing by mistake is taken back in two steps, and the record waits again.
    press(page, "take-back")
    expect(page.get_by_test_id("queue-row")).to_have_count(waiting)
    press(page, "take-back-sure")
    expect(page.get_by_test_id("queue-row")).to_have_count(waiting + 1)
    assert not wrong, "\n".join(wrong)


def test_the_paper_of_a_moved_record_is_asked_out_of_the_old_chart(
    server, queue: Page, tablet: Page
):
    page = queue
    acts.enrol(tablet, server.new_code())
    acts.sign_in(tablet, CLINICIAN)
    go(tablet, "records")
    tablet.get_by_test_id("record-search").fill("Q-10189")
    tablet.get_by_test_id("record").filter(has_text="Q-10189").click()
    expect(tablet.get_by_test_id("chart-state")).to_contain_text("In the chart")
    tablet.get_by_test_id("wrong-open").click()
    tablet.get_by_test_id("record-move").click()
    tablet.get_by_test_id("move-chart").fill("Q-77002")
    tablet.get_by_test_id("move-second").fill("YX")
    tablet.get_by_test_id("move-reason").fill("wrong card in hand")
    tablet.get_by_test_id("move-next").click()
    expect(tablet.get_by_test_id("move-what")).to_contain_text("The front desk will be asked")
    tablet.get_by_test_id("move-pin").fill(acts.person(CLINICIAN)["pin"])
    tablet.get_by_test_id("move-go").click()
    acts.on_server(tablet)

    page.get_by_test_id("queue-refresh").click()
    paper = page.get_by_test_id("remove-row")
    expect(paper).to_contain_text("Take the paper out of the chart Q-10189")
    expect(paper).to_contain_text("wrong card in hand")
    assert "Q-77002" not in paper.inner_text()
    expect(page.get_by_test_id("queue-row").filter(has_text="Q-77002")).to_be_visible()
    wrong = looking.look(page, "queue with a paper to remove")
    page.get_by_test_id("remove-done").click()
    expect(paper).to_have_count(0)
    acts.open_in_queue(page, "Q-77002")
    expect(page.get_by_test_id("queue-changes")).to_contain_text("Moved to this chart")
    wait_for_paper(page, "Q-77002")
    selected(page).get_by_test_id("queue-place").click()
    expect(page.get_by_test_id("queue-row").filter(has_text="Q-77002")).to_have_count(0)
    record = served_record(server, "Q-77002")
    assert (record["chart"]["version"], record["version"]) == (2, 2)
    assert record["removals"][0]["because"] == record["reattributions"][0]["event_id"]
    assert not wrong, "\n".join(wrong)


def test_copies_are_given_with_a_name_and_a_reason(server, queue: Page):
    page = queue
    page.get_by_test_id("nav-records").click()
    page.get_by_test_id("desk-search").fill("Q-10023")
    page.get_by_test_id("desk-search-go").click()
    expect(page.get_by_test_id("record")).to_have_count(2)
    page.get_by_test_id("record").filter(has_text="Q-10023").first.click()
    page.get_by_test_id("desk-release").click()
    expect(page.get_by_test_id("release-record")).to_have_count(2)
    page.get_by_test_id("release-go").click()
    expect(page.get_by_test_id("release-to-wrong")).to_be_visible()
    wrong = looking.look(page, "release")
    for box in page.get_by_test_id("release-record").all():
        box.check()
    page.get_by_test_id("release-to").fill("the patient")
    page.get_by_test_id("release-reason").fill("asked in writing")
    page.get_by_test_id("release-go").click()
    expect(page.get_by_test_id("release-open")).to_have_count(2)
    with page.expect_download() as saved:
        page.get_by_test_id("release-save").first.click()
    # What ends up in a folder names no patient.
    assert "10023" not in saved.value.suggested_filename
    assert saved.value.suggested_filename.endswith(".pdf")
    wrong += looking.look(page, "released")
    assert not wrong, "\n".join(wrong)


@pytest.mark.parametrize(
    ("who", "places", "releases"), [(AUDITOR, False, False), (CLINICIAN, True, False)]
)
def test_each_sees_what_the_role_allows(server, desk: Page, who, places, releases):
    acts.desk_sign_in(desk, who)
    expect(desk.get_by_test_id("queue-row").first).to_be_visible()
    expect(desk.get_by_test_id("queue-open").first).to_be_visible()
    expect(desk.get_by_test_id("queue-place")).to_have_count(int(places))
    desk.get_by_test_id("nav-records").click()
    desk.get_by_test_id("record").filter(has_text="Q-10260").click()
    expect(desk.get_by_test_id("read-back")).to_be_visible()
    expect(desk.get_by_test_id("desk-release")).to_have_count(int(releases))


def test_who_keeps_the_house_sees_no_patients(server, desk: Page):
    acts.desk_sign_in(desk, ADMINISTRATOR)
    record_id = served_record(server, "Q-10260")["record_id"]
    for address in ("queue", "records", f"records/{record_id}", f"records/{record_id}/release"):
        go(desk, *address.split("/"))
        expect(desk.locator("h1")).to_have_text("Practice")
        assert "Q-1" not in desk.locator("main").inner_text()
    expect(desk.get_by_test_id("nav-queue")).to_have_count(0)
