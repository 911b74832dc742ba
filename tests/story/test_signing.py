"""Signing: one record by its PIN, or what was read of the day's, each by its own signature."""

import time

import pytest
from playwright.sync_api import Page, expect

from tests.story import acts, looking
from tests.story.served import served_record

OPERATOR, OTHER, ASSISTANT = "placeholder", "samplewright", "dummyfield"
SIGNING_BUDGET_S = 15  # at the chair, from the read-back to the saved signature
WAITING = ("Q-10270", "Q-10266")  # the demo's two ended, unsigned procedures


def go(page: Page, *parts: str) -> None:
    """Go to a screen without a reload, which would sign the person out."""
    page.evaluate("(hash) => { location.hash = hash; }", "#/" + "/".join(parts))


@pytest.fixture
def signed_in(server, tablet: Page) -> Page:
    acts.enrol(tablet, server.new_code())
    acts.sign_in(tablet, OPERATOR)
    go(tablet, "sign")
    expect(tablet.get_by_test_id("to-sign-row")).to_have_count(len(WAITING))
    return tablet


def row(page: Page, chart: str):
    return page.get_by_test_id("to-sign-row").filter(has_text=chart)


def give_pin(page: Page, key: str = OPERATOR) -> None:
    page.get_by_test_id("sign-pin").fill(acts.person(key)["pin"])
    page.get_by_test_id("sign-go").click()


def test_what_was_not_read_is_not_signed_and_what_was_is_signed_offline(server, signed_in: Page):
    page = signed_in
    own, other = WAITING
    wrong = looking.look(page, "to be signed")
    # Nothing is read, so there is nothing to give a PIN for.
    expect(page.get_by_test_id("sign-pin")).to_have_count(0)
    acts.go_offline(page)
    row(page, own).get_by_test_id("sign-read").click()
    expect(page.get_by_test_id("record-patient")).to_contain_text(own)
    for said in ("Power check", "Handpiece or tip", "laser-on", "Time-out"):
        expect(page.get_by_test_id("read-back")).to_contain_text(said)
    wrong += looking.look(page, "read back in the batch")
    page.get_by_test_id("sign-have-read").click()
    # Another operator's record is opened by choice only; it stays unread.
    expect(row(page, other)).to_contain_text("Not read yet")
    expect(page.get_by_test_id("sign-go")).to_contain_text("Sign 1 record")
    wrong += looking.look(page, "one read")
    # The operator's own, by the operator; a wrong PIN signs nothing.
    expect(page.get_by_test_id("sign-statement")).to_contain_text("(operator)")
    page.get_by_test_id("sign-pin").fill("000000")
    page.get_by_test_id("sign-go").click()
    expect(page.get_by_test_id("sign-wrong")).to_be_visible()
    expect(page.get_by_test_id("to-sign-row")).to_have_count(2)
    give_pin(page)
    expect(page.get_by_test_id("signed")).to_contain_text("1 record is signed")
    expect(page.get_by_test_id("to-sign-row")).to_have_count(1)
    assert served_record(server, own)["status"] == "ended"

    page.context.set_offline(False)
    go(page, "records")
    page.get_by_test_id("record").filter(has_text=own).click()
    acts.on_server(page)
    record = served_record(server, own)
    assert (record["status"], record["sign_off"]["role"], record["flags"]) == (
        "signed",
        "operator",
        [],
    )
    assert served_record(server, other)["status"] == "ended"
    assert not wrong, "\n".join(wrong)


def test_one_record_is_signed_within_its_budget_and_the_open_points_are_in_it(server, tablet: Page):
    acts.enrol(tablet, server.new_code())
    acts.sign_in(tablet, OPERATOR)
    acts.plan_from_preset(tablet, "Frenum, fine")
    acts.open_case(tablet, chart="90431", initials="QS")
    acts.answer_timeout(tablet)
    tablet.get_by_test_id("pass-start").click()
    expect(tablet.get_by_test_id("case-pass")).to_contain_text("1")
    tablet.get_by_test_id("case-end").click()
    tablet.get_by_test_id("outcome-haemostasis").fill("complete")
    tablet.get_by_test_id("end-now").click()
    expect(tablet.get_by_test_id("read-back")).to_be_visible()
    # No laser-on time was kept: the screen says so before, and the signature with it.
    expect(tablet.get_by_test_id("sign-open")).to_contain_text("No laser-on time for pass 1")
    began = time.monotonic()
    give_pin(tablet)
    expect(tablet.get_by_test_id("signed")).to_be_visible()
    assert time.monotonic() - began < SIGNING_BUDGET_S
    go(tablet, "records")
    tablet.get_by_test_id("record").filter(has_text="90431").click()
    acts.on_server(tablet)
    statement = served_record(server, "90431")["sign_off"]["statement"]
    assert "No laser-on time for pass 1" in statement


def test_an_assistant_reads_but_does_not_sign(server, tablet: Page):
    acts.enrol(tablet, server.new_code())
    acts.sign_in(tablet, ASSISTANT)
    go(tablet, "sign")
    expect(tablet.get_by_test_id("sign-not-allowed")).to_be_visible()
    expect(tablet.get_by_test_id("sign-go")).to_have_count(0)
    tablet.get_by_test_id("sign-read").first.click()
    expect(tablet.get_by_test_id("read-back")).to_be_visible()
