"""The whole job in a real browser: from the code that enrols a tablet to the chart."""

import io

import pypdf
import pytest
from playwright.sync_api import Error, Page, expect

from api.dose import evaluate
from tests.story import acts
from tests.story.served import served_record

OPERATOR, FRONT_DESK = "placeholder", "demonstra"
PINS_AS_EVER = True


def test_from_enrolment_to_the_chart(server, tablet: Page, desk: Page):
    acts.enrol(tablet, server.new_code())
    acts.sign_in(tablet, OPERATOR)
    expect(tablet.get_by_test_id("laser")).to_have_count(2)
    acts.plan_from_preset(tablet, "Frenum, fine")

    acts.go_offline(tablet)
    acts.open_case(tablet, chart="90417", initials="QX")
    lines = acts.answer_timeout(tablet)
    assert lines >= 9
    tablet.get_by_test_id("pass-start").click()
    expect(tablet.get_by_test_id("case-pass")).to_contain_text("1")
    acts.add_time(tablet, "12.5", "device-counter")
    expect(tablet.get_by_test_id("saved-state")).to_contain_text("Saved on this tablet")
    power_before = tablet.get_by_test_id("setting-power").inner_text()

    # One tap is one change of settings, and the change is a new pass.
    tablet.get_by_test_id("power-plus").click()
    expect(tablet.get_by_test_id("case-pass")).to_contain_text("2")
    expect(tablet.get_by_test_id("setting-power")).not_to_have_text(power_before)
    acts.add_time(tablet, "8", "estimate")

    tablet.reload()
    acts.sign_in(tablet, OPERATOR)
    with acts.nothing_lost():
        expect(tablet.get_by_test_id("case-pass")).to_contain_text("2")
        expect(tablet.get_by_test_id("pass")).to_have_count(2)

    tablet.get_by_test_id("power-minus").click()
    expect(tablet.get_by_test_id("case-pass")).to_contain_text("3")
    expect(tablet.get_by_test_id("setting-power")).to_have_text(power_before)
    acts.add_time(tablet, "4,25", "device-counter")
    acts.end_and_sign(tablet, OPERATOR)
    expect(tablet.get_by_test_id("saved-state")).to_contain_text("Saved on this tablet")

    tablet.context.set_offline(False)
    acts.on_server(tablet)

    record = served_record(server, "90417")
    assert record["status"] == "signed"
    assert record["flags"] == []
    assert [one["laser_on_s"] for one in record["passes"]] == [12.5, 8.0, 4.25]
    assert [one["sources"] for one in record["passes"]] == [
        ["device counter"],
        ["estimate"],
        ["device counter"],
    ]
    assert len({one["settings"]["emission"]["power"] for one in record["passes"]}) == 2
    for one in record["passes"]:
        # What the tablet worked out and what the server works out from the same inputs.
        again = evaluate.respond(one["settings"])["dose"]
        for side in ("set", "delivered"):
            told = one["tablet_dose"][side]
            assert len(told) > 5
            for name, text in told.items():
                assert float(text) == pytest.approx(again[side][name]["value"], rel=1e-9), name

    acts.desk_sign_in(desk, FRONT_DESK)
    row = acts.open_in_queue(desk, "90417")
    the_pdf_says_it_all(desk, record)
    row.get_by_test_id("queue-copy").click()
    expect(row.get_by_test_id("queue-row-said")).not_to_be_empty()
    copied = desk.evaluate("() => navigator.clipboard.readText()")
    assert "90417" in copied
    assert len(copied) <= 1500
    row.get_by_test_id("queue-place").click()
    expect(row).to_have_count(0)
    assert served_record(server, "90417")["chart"]["by"]

    verified = server.dosebook("log", "verify")
    assert verified.returncode == 0, verified.stderr
    assert "hold" in verified.stdout


def the_pdf_says_it_all(desk: Page, record: dict) -> None:
    answer = None
    for _ in range(480):  # the renderer is a process of its own
        answer = desk.request.get(f"/api/v1/records/{record['record_id']}/pdf")
        if answer.status != 409:
            break
        desk.wait_for_timeout(250)
    assert answer.status == 200
    pages = [page.extract_text() for page in pypdf.PdfReader(io.BytesIO(answer.body())).pages]
    for text in pages:
        assert "90417" in text
        assert record["started_at"][:10] in text
        assert acts.person(OPERATOR)["display_name"] in text
    whole = "\n".join(pages)
    for one in record["passes"]:
        assert one["settings"]["emission"]["power"] in whole
        assert f"{one['laser_on_s']:g} s" in whole
    unbroken = whole.replace("\n", "").replace(" ", "")
    assert record["sign_off"]["content_hash"] in unbroken


def test_a_procedure_ended_on_another_tablet_is_signed_here(server, tablet: Page):
    acts.enrol(tablet, server.new_code(), "Tablet in room 2")
    acts.sign_in(tablet, OPERATOR)
    waiting = tablet.get_by_test_id("unsigned-record")
    expect(waiting).to_have_count(2)
    own = waiting.first
    chart = own.inner_text().split()[0]
    own.click()
    tablet.get_by_test_id("sign-pin").fill(acts.person(OPERATOR)["pin"])
    tablet.get_by_test_id("sign-go").click()
    expect(tablet.get_by_test_id("signed")).to_be_visible()
    acts.on_server(tablet)
    record = served_record(server, chart)
    assert record["status"] == "signed"
    # The server worked out the same content hash from the events themselves.
    assert "content_hash_differs" not in [one["code"] for one in record["flags"]]
    tablet.get_by_test_id("nav-today").click()
    expect(waiting).to_have_count(1)


def test_locking_hides_the_case_and_unlocking_brings_it_back(server, tablet: Page):
    acts.enrol(tablet, server.new_code(), "Tablet in room 3")
    acts.sign_in(tablet, OPERATOR)
    acts.plan_from_preset(tablet, "Frenum, fine")
    acts.open_case(tablet, chart="Q-LOCKED", initials="ZZ")
    tablet.get_by_test_id("lock").click()
    expect(tablet.get_by_test_id("people")).to_be_visible()
    expect(tablet.get_by_test_id("lock-open-case")).to_be_visible()
    assert "Q-LOCKED" not in tablet.content()
    acts.sign_in(tablet, OPERATOR)
    with acts.nothing_lost():
        expect(tablet.get_by_test_id("case-patient")).to_contain_text("Q-LOCKED")


def test_a_second_tab_only_shows_until_the_first_crashes(server, tablet: Page):
    acts.enrol(tablet, server.new_code())
    acts.sign_in(tablet, OPERATOR)
    acts.plan_from_preset(tablet, "Frenum, fine")
    acts.open_case(tablet, chart="Q-TABS", initials="ZZ")
    second = tablet.context.new_page()
    second.goto("/")
    expect(second.get_by_test_id("reader-notice")).to_be_visible()
    acts.sign_in(second, OPERATOR)
    second.get_by_test_id("nav-plan").click()
    second.get_by_test_id("preset").first.click()
    expect(second.get_by_test_id("plan-use")).to_be_disabled()
    with pytest.raises(Error):
        tablet.goto("chrome://crash")
    with acts.nothing_lost():
        expect(second.get_by_test_id("reader-notice")).to_have_count(0)
        second.get_by_test_id("nav-today").click()
        second.get_by_test_id("open-case").get_by_test_id("open-case-go").click()
        expect(second.get_by_test_id("case-patient")).to_contain_text("Q-TABS")
        # Begun by the tab that crashed, gone on with here.
        acts.answer_timeout(second)
        acts.all_sent(second)


def test_what_the_laser_cannot_do_is_refused_at_the_field_and_nothing_typed_is_lost(
    server, tablet: Page
):
    acts.enrol(tablet, server.new_code())
    acts.sign_in(tablet, OPERATOR)
    tablet.get_by_test_id("nav-plan").click()
    tablet.get_by_test_id("preset").filter(has_text="Frenum, fine").click()
    power = tablet.get_by_test_id("plan-power")
    power.fill("400")
    expect(tablet.get_by_test_id("plan-power-wrong")).to_be_visible()
    expect(tablet.get_by_test_id("plan-use")).to_be_disabled()
    tablet.get_by_test_id("nav-today").click()
    tablet.get_by_test_id("nav-plan").click()
    expect(power).to_have_value("400")
    power.fill("1,500")
    expect(tablet.get_by_test_id("plan-power-decimal")).to_be_visible()
    expect(tablet.get_by_test_id("plan-use")).to_be_disabled()
    tablet.get_by_test_id("plan-power-decimal").click()
    expect(power).to_have_value("1.5")
    expect(tablet.get_by_test_id("plan-use")).to_be_enabled()
    for nonsense in ("-3", "NaN", "three", "3 J", "1e3"):
        power.fill(nonsense)
        expect(tablet.get_by_test_id("plan-power-wrong")).to_be_visible()
        expect(power).to_have_value(nonsense)
        expect(tablet.get_by_test_id("plan-use")).to_be_disabled()
