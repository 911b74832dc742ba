"""What is done with a case at the chair, and what the server then holds of it."""

from playwright.sync_api import Locator, Page, expect

from tests.story import acts
from tests.story.served import served_record
from tests.story.serving import Server

OPERATOR, ASSISTANT, OTHER_DENTIST = "placeholder", "dummyfield", "samplewright"
PHONE = {"width": 390, "height": 844}


def begin(
    tablet: Page, server: Server, *, chart: str, label: str, known: str | None = None
) -> None:
    """A case with a time-out and its first pass, opened without a network.

    Whoever is ``known`` has signed in before, and so can do so again without a network.
    """
    acts.enrol(tablet, server.new_code(), label)
    if known:
        acts.sign_in(tablet, known)
        tablet.get_by_test_id("lock").click()
    acts.sign_in(tablet, OPERATOR)
    # What was recorded here before has come before the network goes: forms offer from it.
    tablet.get_by_test_id("nav-records").click()
    expect(tablet.get_by_test_id("record").first).to_be_visible()
    acts.go_offline(tablet)
    acts.plan_from_preset(tablet, "Frenum, fine")
    acts.open_case(tablet, chart=chart, initials="QX")
    acts.answer_timeout(tablet)
    tablet.get_by_test_id("pass-start").click()
    expect(tablet.get_by_test_id("case-pass")).to_contain_text("1")


def server_record(server: Server, tablet: Page, chart: str) -> dict:
    """The record once all of it is on the server, from the server's own document."""
    tablet.context.set_offline(False)
    acts.on_server(tablet)
    return served_record(server, chart)


def entry(tablet: Page, text: str) -> Locator:
    """The line of an entry among those of the case."""
    return tablet.get_by_test_id("entry").filter(has_text=text)
