"""Goes to every screen there is, in the order in which a person meets them."""

from collections.abc import Callable

from playwright.sync_api import Page, expect

from tests.story import acts

OPERATOR, FRONT_DESK, SAFETY = "placeholder", "demonstra", "specimen"
ADMINISTRATOR, MANAGER = "standin", "exemplar"
Visit = Callable[[Page, str], None]

CASE_VIEWS = (
    "pause",
    "hand-over",
    "protection",
    "photographs",
    "lists",
    "notes",
    "entries",
    "dose",
)

# The app hears of the address in a task of its own; one later than that its screen is another. What
# it asks the server for on the way is counted.
GO = f"""to => {{
  ({acts.COUNT_ASKED})();
  return new Promise((done) => {{
    if (location.hash === to) return done();
    addEventListener("hashchange", () => setTimeout(done), {{ once: true }});
    location.hash = to;
  }});
}}"""


def to(page: Page, address: str) -> None:
    """Go to an address of the app and wait until its screen stands."""
    page.evaluate(GO, address)
    acts.settled(page)


def here(page: Page) -> str:
    return page.evaluate("location.hash")


def tablet(page: Page, code: str, visit: Visit) -> None:
    """Every screen of the tablet, from the door to a signed record."""
    visit(page, "door")
    acts.enrol(page, code)
    visit(page, "people")
    who = acts.person(OPERATOR)
    page.get_by_test_id(f"person-{who['initials'].lower()}").click()
    visit(page, "PIN")
    page.get_by_test_id("pin").fill(who["pin"])
    page.get_by_test_id("pin-go").click()
    expect(page.get_by_test_id("laser")).to_have_count(2)
    visit(page, "today")
    practice(page, visit)
    settings(page, visit)
    planning(page, visit)
    in_case(page, visit)
    after(page, who["pin"], visit)


def practice(page: Page, visit: Visit) -> None:
    """What the house agreed on: presets, procedures, lists."""
    page.get_by_test_id("nav-practice").click()
    expect(page.get_by_test_id("practice-lists")).to_be_visible()
    visit(page, "practice")
    for part in (
        "presets",
        "procedures",
        "lists",
        "rooms",
        "registers",
        "power",
        "trend",
        "service",
        "checks",
    ):
        to(page, f"#/practice/{part}")
        visit(page, part)
        found = page.locator(f"main a[href^='#/practice/{part}/']").evaluate_all(
            "links => links.map((a) => a.getAttribute('href'))"
        )
        inner = [one for one in found if not one.endswith(("/new", "/files"))]
        if inner:
            to(page, inner[0])
            visit(page, f"one of {part}")
    for address in (
        "#/practice/presets/new",
        "#/practice/presets/files",
        "#/practice/procedures/new",
    ):
        to(page, address)
        visit(page, address.removeprefix("#/practice/"))
    one_check(page, visit)
    incident(page, visit)


def one_check(page: Page, visit: Visit) -> None:
    """A list about a laser, as it is answered: an item with its picture, a failed one, the sum."""
    to(page, "#/today")
    page.get_by_test_id("need-not_made").first.click()
    expect(page.get_by_test_id("check-question")).to_be_visible()
    visit(page, "check of a laser")
    page.get_by_test_id("check-no").click()
    expect(page.get_by_test_id("check-note")).to_be_visible()
    visit(page, "failed item of a check")
    to(page, "#/practice")


def incident(page: Page, visit: Visit) -> None:
    """First aid and the form of an incident, refused and saved; one of them; all of them."""
    to(page, "#/practice/incidents/new")
    page.get_by_test_id("incident-save").click()
    expect(page.get_by_test_id("incident-wrong")).to_be_visible()
    visit(page, "incident refused")
    page.get_by_test_id("incident-kind-eye-exposure").check()
    page.get_by_test_id("incident-harm-possible").check()
    page.get_by_test_id("incident-what").fill("The beam met a mirror")
    page.get_by_test_id("incident-done").fill("Stopped, key out; eye clinic")
    page.get_by_test_id("incident-save").click()
    expect(page.get_by_test_id("incident-facts")).to_be_visible()
    visit(page, "incident")
    to(page, "#/practice/incidents")
    visit(page, "incidents")
    to(page, "#/practice")


def maintenance(page: Page, visit: Visit) -> None:
    """Work on a laser at a desk: a form that is refused, and what was noted."""
    to(page, "#/practice/maintenance")
    page.locator("main a[href^='#/practice/maintenance/']").first.click()
    page.get_by_test_id("maintenance-new").click()
    page.get_by_test_id("register-save").click()
    expect(page.get_by_test_id("register-wrong")).to_be_visible()
    visit(page, "work on a laser refused")
    page.get_by_test_id("register-kind").select_option("service")
    page.get_by_test_id("register-done-on").fill("2026-01-15")
    page.get_by_test_id("register-done-by").fill("A technician")
    page.get_by_test_id("register-what").fill("Aligned")
    page.get_by_test_id("register-save").click()
    # Beside the service that the demo tells of.
    expect(page.get_by_test_id("maintenance").filter(has_text="A technician")).to_be_visible()
    visit(page, "work on a laser")


def settings(page: Page, visit: Visit) -> None:
    page.get_by_test_id("open-settings").click()
    expect(page.get_by_test_id("hand")).to_be_visible()
    visit(page, "settings")
    page.get_by_test_id("size-card").check()
    visit(page, "card")
    page.get_by_test_id("card-drop").click()
    to(page, "#/settings/sessions")
    expect(page.get_by_test_id("session-here")).to_be_visible()
    visit(page, "where one is signed in")


def planning(page: Page, visit: Visit) -> None:
    page.get_by_test_id("nav-plan").click()
    page.get_by_test_id("preset").filter(has_text="Frenum, fine").first.click()
    page.get_by_test_id("plan-more-open").click()
    page.get_by_test_id("dose-irradiance_mean-open").click()
    visit(page, "plan")
    page.get_by_test_id("plan-power").fill("400")
    expect(page.get_by_test_id("limits")).to_be_visible()
    visit(page, "plan refused")
    page.get_by_test_id("plan-power").fill("3")
    page.get_by_test_id("plan-compare").click()
    expect(page.get_by_test_id("compare-results")).to_be_visible()
    visit(page, "compare")
    page.get_by_test_id("compare-back").click()
    expect(page.get_by_test_id("plan-use")).to_be_enabled()
    page.get_by_test_id("plan-use").click()
    expect(page.get_by_test_id("chart-number")).to_be_visible()
    visit(page, "new case")


def in_case(page: Page, visit: Visit) -> None:
    acts.open_case(page, chart="90417", initials="QX")
    visit(page, "time-out")
    acts.answer_timeout(page)
    visit(page, "case before the first pass")
    page.get_by_test_id("pass-start").click()
    acts.add_time(page, "12.5", "device-counter")
    page.get_by_test_id("power-plus").click()
    expect(page.get_by_test_id("case-pass")).to_contain_text("2")
    visit(page, "case")
    page.get_by_test_id("laser-start").click()
    expect(page.get_by_test_id("laser-stop")).to_be_visible()
    visit(page, "case while the time runs")
    acts.lift(page)
    page.get_by_test_id("laser-stop").click()
    case = here(page)
    for view in CASE_VIEWS:
        to(page, f"{case}/{view}")
        visit(page, f"case: {view}")
    to(page, case)
    page.get_by_test_id("case-end").click()
    expect(page.get_by_test_id("end-now")).to_be_visible()
    visit(page, "end")
    page.get_by_test_id("end-now").click()
    expect(page.get_by_test_id("read-back")).to_be_visible()


def after(page: Page, pin: str, visit: Visit) -> None:
    visit(page, "sign")
    page.get_by_test_id("sign-pin").fill(pin)
    page.get_by_test_id("sign-go").click()
    expect(page.get_by_test_id("signed")).to_be_visible()
    visit(page, "signed")
    to(page, "#/sign")
    visit(page, "sign together")
    page.get_by_test_id("nav-records").click()
    expect(page.get_by_test_id("record").first).to_be_visible()
    visit(page, "records")
    page.get_by_test_id("record").filter(has_text="90417").first.click()
    page.get_by_test_id("history-open").click()
    visit(page, "record")
    record = here(page)
    for further in ("move", "void"):
        to(page, f"{record}/{further}")
        visit(page, further)


def desk(page: Page, visit: Visit) -> None:
    """Every screen of the office browser."""
    visit(page, "desk door")
    acts.desk_sign_in(page, FRONT_DESK)
    expect(page.get_by_test_id("queue-row").first).to_be_visible()
    visit(page, "desk queue")
    page.get_by_test_id("nav-records").click()
    expect(page.get_by_test_id("record").first).to_be_visible()
    visit(page, "desk records")
    page.get_by_test_id("record").first.click()
    expect(page.get_by_test_id("read-back")).to_be_visible()
    visit(page, "desk record")
    record = here(page)
    to(page, f"{record}/proof")
    expect(page.get_by_test_id("proof-holds")).to_be_visible()
    visit(page, "desk proof")
    to(page, f"{record}/release")
    visit(page, "desk release")
    for address in (
        "practice",
        "practice/presets",
        "practice/procedures",
        "practice/lists",
        "settings",
        "settings/secrets",
        "settings/sessions",
    ):
        to(page, f"#/{address}")
        visit(page, f"desk {address}")
    leave(page)
    people(page, visit)


def registers(page: Page, visit: Visit) -> None:
    """The registers at a desk: a form that is refused, sheets, how often something is due."""
    to(page, "#/practice/registers/handpiece")
    page.get_by_test_id("register-add").click()
    page.get_by_test_id("register-save").click()
    expect(page.get_by_test_id("register-wrong")).to_be_visible()
    visit(page, "handpiece refused")
    to(page, "#/practice/registers/device")
    page.get_by_test_id("register-thing").first.click()
    expect(page.get_by_test_id("register-facts")).to_be_visible()
    visit(page, "a laser of the register")
    to(page, "#/practice/registers/inventory")
    expect(page.get_by_test_id("inventory-line").first).to_be_visible()
    visit(page, "inventory")
    to(page, "#/practice/registers/labels/device")
    expect(page.get_by_test_id("label").first).to_be_visible()
    visit(page, "labels")
    to(page, "#/practice/registers/due/inventory")
    visit(page, "how often an inventory is due")


def people(page: Page, visit: Visit) -> None:
    """What an administrator sees of people."""
    acts.desk_sign_in(page, ADMINISTRATOR)
    to(page, "#/practice/emergency")
    visit(page, "emergency")
    to(page, "#/practice/emergency/elsewhere")
    expect(page.get_by_test_id("elsewhere-drop")).to_be_visible()
    visit(page, "emergency elsewhere")
    to(page, "#/practice/locations")
    expect(page.get_by_test_id("location-row").first).to_be_visible()
    visit(page, "locations")
    to(page, "#/practice/locations/new")
    page.get_by_test_id("location-zone-search").fill("lis")
    page.get_by_test_id("location-save").click()
    visit(page, "location refused")
    to(page, "#/practice/people/elsewhere")
    expect(page.get_by_test_id("elsewhere-none")).to_be_visible()
    visit(page, "people elsewhere")
    to(page, "#/practice/tablets")
    visit(page, "tablets")
    to(page, "#/practice/aside")
    expect(page.get_by_test_id("aside-none")).to_be_visible()
    visit(page, "put aside")
    registers(page, visit)
    maintenance(page, visit)
    to(page, "#/practice/backup")
    expect(page.get_by_test_id("backup-last")).to_be_visible()
    visit(page, "backup")
    to(page, "#/practice/group")
    expect(page.get_by_test_id("group-none")).to_be_visible()
    visit(page, "group")
    to(page, "#/practice/group/offers/none")
    expect(page.get_by_test_id("offer-unknown")).to_be_visible()
    visit(page, "offer unknown")
    to(page, "#/practice/log")
    expect(page.get_by_test_id("access").first).to_be_visible()
    visit(page, "access log")
    to(page, "#/practice/people")
    visit(page, "people of the location")
    page.get_by_test_id("person-new").click()
    page.get_by_test_id("role-auditor").check()
    page.get_by_test_id("person-save").click()
    visit(page, "person refused")
    to(page, "#/practice/people")
    page.get_by_test_id("person-row").filter(has_text="Specimen").click()
    page.get_by_test_id("link-reset").click()
    expect(page.get_by_test_id("link-made")).to_be_visible()
    visit(page, "person")
    one = here(page)
    for mode in ("credential", "scope", "end"):
        to(page, f"{one}/{mode}")
        visit(page, f"person: {mode}")
    leave(page)
    erasing(page, visit)


def leave(page: Page) -> None:
    """Sign out at a desk and come to its door."""
    page.get_by_test_id("desk-sign-out").click()
    expect(page.get_by_test_id("desk-sign-out")).to_have_count(0)
    page.goto("/#/desk")
    # Only another place of the same page so far: what browser this is was decided when it opened.
    page.reload()


def exposed(page: Page, visit: Visit) -> None:
    """Who was treated with a laser that failed, of which there is nobody here."""
    to(page, "#/practice/service")
    page.get_by_test_id("service-laser").first.click()
    page.get_by_test_id("exposed-open").click()
    expect(page.get_by_test_id("exposed-count")).to_be_visible()
    visit(page, "exposed cases")


def erasing(page: Page, visit: Visit) -> None:
    """What the manager sees of erasing: how long records are kept, and one that might go."""
    acts.desk_sign_in(page, MANAGER)
    exposed(page, visit)
    to(page, "#/practice/erasures")
    page.get_by_test_id("rule-add").click()
    page.get_by_test_id("rules-save").click()
    expect(page.get_by_test_id("rule-text-0-wrong")).to_be_visible()
    visit(page, "how long records are kept, refused")
    to(page, "#/records")
    page.get_by_test_id("record").first.click()
    page.get_by_test_id("desk-erase").click()
    expect(page.get_by_test_id("erase-lost")).to_be_visible()
    page.get_by_test_id("erase-ask").click()
    visit(page, "erasing a record, refused")
