"""Sixty texts that would run as scripts, in every text field there is: each is shown, none runs.

The texts are this project's own spellings of ways that are common knowledge among testers
(common practice, no source): tags that run by themselves, ways out of attributes and elements,
addresses, template braces.
"""

from collections.abc import Iterator

import pytest
from marshmallow import Schema, fields, validate
from playwright.sync_api import Page, expect

from api.clock import SystemClock
from api.demo.desk_client import DeskClient
from api.demo.tablet_client import TabletClient
from api.demo.transport import from_url
from api.events import catalogue
from tests.events.test_catalogue import WHOLE
from tests.story import acts, walk

WAYS = (
    "<script data-p>ran()</script>",
    "<img data-p src=x onerror=ran()>",
    "<svg data-p onload=ran()>",
    "<iframe data-p srcdoc='<script>parent.ran()</script>'></iframe>",
    "<a data-p href='javascript:ran()' autofocus onfocus=ran()>x</a>",
    "<details data-p open ontoggle=ran()>",
    "<input data-p autofocus onfocus=ran()>",
    "<video data-p><source onerror=ran()></video>",
    "<math><mtext><img data-p src=x onerror=ran()></mtext></math>",
    "<object data-p data='javascript:ran()'></object>",
    "<style data-p>@keyframes a{}</style><b style='animation:a' onanimationstart=ran()>",
    "<form data-p><button formaction='javascript:ran()' autofocus onfocus=ran()>",
    "{{constructor.constructor('ran()')()}}",
    "${ran()}",
    "javascript:ran()",
)
OUT_OF = ("", '">', "'>", "--></title></textarea>")
ALWAYS_ONLINE = True
TEXTS = tuple(out + way for out in OUT_OF for way in WAYS)
LISTENING = "window.hits = 0; window.ran = () => { window.hits += 1; };"
# What is found on a page: runs, and elements that were made of a text.
FOUND = "() => [window.hits, document.querySelectorAll('[data-p]').length]"


def scripted(field: Schema | fields.Field, value: object, texts: Iterator[str]) -> object:
    """Put the next of ``texts`` into every field of a payload that takes any text."""
    if isinstance(field, Schema):
        return {
            name: scripted(inner, value.get(name), texts)
            for name, inner in field.fields.items()
            if name in value or _longest(inner)
        }
    if isinstance(field, fields.Nested):
        return value if value is None else scripted(field.schema, value, texts)
    if isinstance(field, fields.List):
        return value if value is None else [scripted(field.inner, each, texts) for each in value]
    longest = _longest(field)
    return next(texts)[:longest] if longest else value


def _longest(field: fields.Field) -> int | None:
    for check in field.validators:
        if isinstance(check, validate.Length) and isinstance(field, fields.String):
            return check.max
    return None


def over_and_over() -> Iterator[str]:
    """Yield the texts without end; a prime step, so that each field meets each of them."""
    at = 0
    while True:
        yield TEXTS[at % len(TEXTS)]
        at += 7


HOUSE = ("device", "handpiece", "procedure_kind", "list", "preset", "room")
# What would end a record before it is full, or take it out of the lists.
NOT_IN_A_RECORD = {"entry.withdrawn", "record.voided", "record.removed_from_chart"}


@pytest.fixture(scope="module")
def records(server) -> list[str]:
    """Fill the practice with the texts; returns the ids of records that hold them."""
    clock, texts = SystemClock(), over_and_over()
    desk = DeskClient(from_url(server.address), clock, origin=server.address)
    officer = acts.person(walk.SAFETY)
    desk.sign_in(officer["sign_in"], officer["password"])
    people = desk.ask("GET", "/house?kind=person")["documents"]
    dentist = acts.person(walk.OPERATOR)
    [who] = [one for one in people if one["display_name"] == dentist["display_name"]]
    tablet = TabletClient(from_url(server.address), clock, label="<b data-p>Tablet</b>")
    tablet.enrol(server.new_code())
    tablet.sign_in(who["person_id"], dentist["pin"])
    made = []
    for _ in range(4):
        record_id = tablet.new_id()
        for name, payload in WHOLE.items():
            known = catalogue.EVENT_TYPES[name]
            filled = scripted(known.schema, payload, texts)
            if known.subject == "record" and name not in NOT_IN_A_RECORD:
                tablet.record(name, record_id, filled)
            elif known.subject in HOUSE and not known.needs_corrects:
                tablet.record(name, f"{known.subject}-{len(made)}", filled)
        made.append(record_id)
    outcomes = [result["outcome"] for result in tablet.push()]
    assert outcomes.count("applied") >= 80, outcomes
    keeper = DeskClient(from_url(server.address), clock, origin=server.address)
    admin = acts.person(walk.ADMINISTRATOR)
    keeper.sign_in(admin["sign_in"], admin["password"])
    schema = catalogue.EVENT_TYPES["person.registered"].schema
    for _ in range(4):
        payload = scripted(schema, WHOLE["person.registered"], texts)
        keeper.command("person.registered", tablet.new_id(), payload)
    return made


def test_the_texts_run_where_they_are_taken_for_html(browser):
    page = browser.new_page()
    page.goto("about:blank")
    page.evaluate(f"() => {{ {LISTENING} }}")
    page.evaluate(
        "texts => { document.body.innerHTML = texts.map((t) => `<p>${t}</p>`).join(''); }",
        list(TEXTS),
    )
    page.wait_for_function("() => window.hits > 10")
    assert page.evaluate(FOUND)[1] > 30
    page.close()


def test_each_is_shown_and_none_runs(server, records, tablet: Page, desk: Page):
    for page in (tablet, desk):
        page.add_init_script(LISTENING)
        page.on("dialog", lambda dialog: pytest.fail(f"a dialog: {dialog.message}"))
        page.reload()
    acts.enrol(tablet, server.new_code())
    acts.sign_in(tablet, walk.OPERATOR)
    acts.desk_sign_in(desk, walk.SAFETY)
    house = ("presets", "procedures", "lists", "rooms")
    addresses = [f"#/practice/{part}" for part in house]
    addresses += ["#/practice", "#/records", *(f"#/records/{record_id}" for record_id in records)]
    shown = 0
    for page, more in ((tablet, ["#/today", "#/plan", "#/case/new"]), (desk, ["#/queue"])):
        for address in addresses + more:
            walk.to(page, address)
            assert page.evaluate(FOUND) == [0, 0], address
            inner = page.locator("main a[href^='#/practice/']").evaluate_all(
                "links => [...new Set(links.map((a) => a.getAttribute('href')))]"
            )
            shown += page.locator("main").inner_text().count("ran()")
            for deeper in inner[-4:] if address.startswith("#/practice/") else ():
                walk.to(page, deeper)
                assert page.evaluate(FOUND) == [0, 0], deeper
                shown += page.locator("main").inner_text().count("ran()")
    # They have to be on the screens, or it shows nothing.
    assert shown > 200
    expect(tablet.get_by_test_id("lock")).to_be_visible()
