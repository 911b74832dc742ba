"""From an empty practice to a second factor: a link, an app with codes, a passkey, and sessions."""

import json
import os
from datetime import UTC, datetime

import pyotp
import pytest
from playwright.sync_api import Browser, Page, expect

from tests.story import looking
from tests.story.conftest import TABLET_SIZE, new_context
from tests.story.forked import stop
from tests.story.serving import Server, free_port, start, wait_until_healthy

PASSWORD, SHORT = "zq7 willow lamp moss", "zq7 wilo"
FIRST_START = (
    *("--practice", "Lantern Dental", "--location", "North room", "--zone", "Europe/Lisbon"),
)


@pytest.fixture(scope="module")
def empty(tmp_path_factory):
    """A server whose practice has nobody in it."""
    data, port = tmp_path_factory.mktemp("empty"), free_port()
    served = Server(port, {**os.environ, "DOSEBOOK_DATA": str(data), "PORT": str(port)})
    served.environment.pop("DATABASE_URL", None)
    assert served.dosebook("db", "upgrade").returncode == 0
    running = start("serve", served.environment)
    try:
        wait_until_healthy(served.address)
        yield served
    finally:
        stop([running])


@pytest.fixture
def new_page(browser: Browser, empty: Server):
    """Return a function that opens a page of a browser that nobody is signed in at."""
    contexts, problems = [], []

    def opened() -> Page:
        contexts.append(new_context(browser, empty, viewport=TABLET_SIZE))
        page = contexts[-1].new_page()
        page.on("pageerror", lambda error: problems.append(str(error)))
        return page

    yield opened
    for context in contexts:
        context.close()
    assert problems == []


def invited(served: Server, name: str, *more: str) -> str:
    """Register an administrator; return where their link leads."""
    told = ("--name", name, "--initials", name[:2], "--json", *more)
    done = served.dosebook("user", "create-admin", *told)
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)["link"]


def fill(page: Page, **fields: str) -> None:
    for name, text in fields.items():
        page.get_by_test_id(name.replace("_", "-")).fill(text)


def press(page: Page, control: str) -> None:
    page.get_by_test_id(control).click()


def sign_in(page: Page, name: str, password: str) -> None:
    fill(page, desk_name=name, desk_password=password)
    press(page, "desk-go")


def look(page: Page) -> None:
    """Everything by which others of the app's screens are looked at."""
    assert looking.rule_breaches(page) == []
    assert looking.sideways(page) == []


def app_of(page: Page) -> pyotp.TOTP:
    return pyotp.TOTP(page.get_by_test_id("totp-secret").inner_text().replace(" ", ""))


def now() -> datetime:
    return datetime.now(UTC)


def fresh_code(app: pyotp.TOTP, used: str) -> str:
    """A code that was not used yet: of the next step, which the server takes as well."""
    code = app.at(now())
    return code if code != used else app.at(int(now().timestamp()) + 30)


def test_an_empty_practice_begins_with_a_link_and_no_password(empty, new_page):
    link = invited(empty, "Ida Placeholder", *FIRST_START)
    assert link.startswith(f"http://localhost:{empty.port}/#/welcome/")
    page = new_page()
    page.goto(link)
    expect(page.get_by_role("heading", name="Welcome, Ida Placeholder")).to_be_visible()
    look(page)
    # What is wrong is said at its field, and what was typed stays.
    fill(page, welcome_name="ida", welcome_password=SHORT, welcome_repeat=SHORT)
    press(page, "welcome-go")
    expect(page.get_by_test_id("welcome-password-wrong")).to_contain_text("15")
    expect(page.get_by_test_id("welcome-name")).to_have_value("ida")
    # Beside a second factor of the same visit it may be so short.
    press(page, "add-totp")
    app = app_of(page)
    look(page)
    fill(page, totp_code="000000", factor_label="phone")
    press(page, "welcome-go")
    expect(page.get_by_test_id("totp-code-wrong")).to_be_visible()
    used = app.at(now())
    fill(page, totp_code=used)
    press(page, "welcome-go")
    expect(page.get_by_test_id("recovery-code")).to_have_count(10)
    recovery = page.get_by_test_id("recovery-code").first.inner_text()
    look(page)
    press(page, "welcome-to-desk")

    sign_in(page, "IDA", SHORT)
    expect(page.get_by_test_id("second-form")).to_be_visible()
    look(page)
    fill(page, second_code=used)
    press(page, "second-go")
    expect(page.get_by_test_id("second-wrong")).to_contain_text("4")
    fill(page, second_code=fresh_code(app, used))
    press(page, "second-go")
    expect(page.get_by_test_id("who")).to_have_text("Ida Placeholder")

    # The link is worth nothing now, and says so.
    page.goto(link)
    expect(page.get_by_test_id("link-closed")).to_be_visible()
    look(page)

    # With a recovery code from another browser; that session is seen and ended from this one.
    other = new_page()
    other.goto(f"http://localhost:{empty.port}/#/desk")
    sign_in(other, "ida", SHORT)
    other.get_by_test_id("second-way-recovery").check()
    fill(other, second_code=recovery.lower())
    press(other, "second-go")
    expect(other.get_by_test_id("who")).to_be_visible()
    page.goto(f"http://localhost:{empty.port}/#/settings/sessions")
    page.reload()
    expect(page.get_by_test_id("session")).to_have_count(1)
    look(page)
    press(page, "session-end")
    expect(page.get_by_test_id("session")).to_have_count(0)
    expect(page.get_by_test_id("session-here")).to_have_count(1)
    other.reload()
    expect(
        other.get_by_test_id("enrol-form").or_(other.get_by_test_id("desk-form"))
    ).to_be_visible()


def test_a_passkey_is_added_and_asked_for(empty, new_page):
    page = new_page()
    # Chromium's own authenticator, by the protocol that its developers' tools use.
    tools = page.context.new_cdp_session(page)
    tools.send("WebAuthn.enable")
    tools.send(
        "WebAuthn.addVirtualAuthenticator",
        {
            "options": {
                "protocol": "ctap2",
                "transport": "usb",
                "hasResidentKey": False,
                "hasUserVerification": False,
                "automaticPresenceSimulation": True,
            }
        },
    )
    more = () if empty.dosebook("tablet", "code").returncode == 0 else FIRST_START
    page.goto(invited(empty, "Mo Specimen", *more))
    fill(page, welcome_name="mo", welcome_password=PASSWORD, welcome_repeat=PASSWORD)
    press(page, "welcome-go")
    press(page, "welcome-to-desk")
    sign_in(page, "mo", PASSWORD)
    expect(page.get_by_test_id("who")).to_be_visible()
    press(page, "open-settings")
    press(page, "settings-secrets")
    expect(page.get_by_test_id("no-factor")).to_be_visible()
    look(page)
    # Not without the password, however long ago somebody signed in here.
    press(page, "add-totp")
    expect(page.get_by_test_id("secret-now-wrong")).to_be_visible()
    fill(page, secret_now=PASSWORD)
    press(page, "add-passkey")
    expect(page.get_by_test_id("passkey-ready")).to_be_visible()
    fill(page, factor_label="key on the ring")
    press(page, "factor-add")
    expect(page.get_by_test_id("recovery-code")).to_have_count(10)
    press(page, "codes-kept")
    expect(page.get_by_test_id("factor")).to_contain_text("key on the ring")
    look(page)

    # From whichever screen: a desk leads back to its own sign-in.
    press(page, "desk-sign-out")
    sign_in(page, "mo", PASSWORD)
    press(page, "second-go")
    expect(page.get_by_test_id("who")).to_have_text("Mo Specimen")

    # Everybody's sessions, for an administrator.
    page.goto(f"http://localhost:{empty.port}/#/practice/sessions")
    expect(page.get_by_test_id("session-here")).to_contain_text("Mo Specimen")
    look(page)

    # Under the number a browser makes and uses none, and the page says what to do.
    number = new_page()
    number.goto(f"{empty.address}/#/desk")
    sign_in(number, "mo", PASSWORD)
    number.get_by_test_id("second-way-passkey").check()
    expect(number.get_by_test_id("second-go")).to_be_disabled()


def test_a_desk_that_nobody_touches_is_signed_out(empty, new_page):
    more = () if empty.dosebook("tablet", "code").returncode == 0 else FIRST_START
    link = invited(empty, "Em Standin", *more)
    page = new_page()
    page.clock.install()
    page.goto(link)
    fill(page, welcome_name="em", welcome_password=PASSWORD, welcome_repeat=PASSWORD)
    press(page, "welcome-go")
    press(page, "welcome-to-desk")
    sign_in(page, "em", PASSWORD)
    expect(page.get_by_test_id("who")).to_be_visible()
    page.clock.fast_forward("29:00")
    expect(page.get_by_test_id("who")).to_be_visible()
    page.clock.fast_forward("01:30")
    expect(page.get_by_test_id("desk-idle")).to_be_visible()
    # Not only on this screen: the cookie opens nothing either.
    page.wait_for_function("() => fetch('/api/v1/session').then((answer) => answer.status === 401)")
