"""A real server with the demo practice on loopback, and a real browser."""

import os
import shutil
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect, sync_playwright

from tests.story import acts
from tests.story.serving import Server, demo_data, demo_practice

# Playwright's own 5 s are too few on a busy machine. Who waits in vain loses nothing else by it.
expect.set_options(timeout=30_000)

ROOT = Path(__file__).resolve().parents[2]
TABLET_SIZE = {"width": 1024, "height": 768}
PHONE_SIZE = {"width": 390, "height": 844}
ZONE = acts.HOUSE["location"]["zone"]
QUIET = (
    "--no-sandbox",
    "--disable-gpu",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)


# A guess at a PIN is made slow by at least 210 000 rounds, and by up to 20 million where a page's
# clock stands still. Whether that is so is asked in `pwa/tests` and where `PINS_AS_EVER` is set.
FEW_ROUNDS = """(() => {
  if (!window.SubtleCrypto) return;
  const derive = SubtleCrypto.prototype.deriveBits;
  SubtleCrypto.prototype.deriveBits = function (how, ...more) {
    return derive.call(this, how.name === "PBKDF2" ? { ...how, iterations: 1000 } : how, ...more);
  };
})()"""

# With a worker each new browser fetches all of the app once more, a second of the processor. A desk
# works with a network only, and so does a tablet whose story cuts none: there the browser has no
# worker, which the app allows for.
NO_WORKER = "delete Navigator.prototype.serviceWorker"


def chromium_path() -> str:
    found = os.environ.get("CHROMIUM") or shutil.which("chromium") or shutil.which("google-chrome")
    assert found, "Chromium is needed; `bash deploy/check` finds or installs it"
    return found


@pytest.fixture(scope="session")
def loaded(tmp_path_factory) -> Path:
    """The demo practice's data, loaded once for the whole run."""
    run = tmp_path_factory.getbasetemp()
    return demo_data(run.parent if "PYTEST_XDIST_WORKER" in os.environ else run)


@pytest.fixture(scope="module")
def server(tmp_path_factory, loaded):
    with demo_practice(tmp_path_factory.mktemp("practice"), loaded=loaded) as served:
        yield served


def slowed(browser: Browser, times: float) -> None:
    """Let every page of a browser compute so many times slower than this machine can."""
    make = browser.new_context

    def new_context(**how) -> BrowserContext:
        context = make(**how)

        def slow(page: Page) -> None:
            tools = context.new_cdp_session(page)
            tools.send("Emulation.setCPUThrottlingRate", {"rate": times})

        context.on("page", slow)
        return context

    browser.new_context = new_context


@pytest.fixture(scope="package")
def playwright():
    """Playwright, of which a process can have one only at a time."""
    with sync_playwright() as started:
        yield started


@pytest.fixture(scope="package")
def chromium(playwright):
    """Return a function that gives the one browser of this process, started anew if it ended."""
    started: list[Browser] = []

    def running() -> Browser:
        if not started or not started[-1].is_connected():
            path = chromium_path()
            started.append(playwright.chromium.launch(executable_path=path, args=list(QUIET)))
            if "STORY_SLOW_DOWN" in os.environ:
                slowed(started[-1], float(os.environ["STORY_SLOW_DOWN"]))
        return started[-1]

    yield running
    for one in started:
        one.close()


@pytest.fixture(scope="module")
def browser(chromium):
    """The browser, with no page of another file in it."""
    running = chromium()
    yield running
    for context in list(running.contexts):
        context.close()


def new_context(
    browser: Browser, server: Server, *, few_rounds: bool = True, worker: bool = False, **how
) -> BrowserContext:
    """A browser that has not met the practice yet, a desk's or a tablet's.

    It has a ``worker`` where a network is cut, and stretches PINs as ever without ``few_rounds``.
    """
    context = browser.new_context(base_url=server.address, **how)
    if few_rounds:
        context.add_init_script(FEW_ROUNDS)
    if not worker:
        context.add_init_script(NO_WORKER)
    return context


@pytest.fixture
def tablet(request, browser: Browser, server: Server) -> Page:
    """A page of a browser that has not met the practice yet."""
    context = new_context(
        browser,
        server,
        few_rounds=not getattr(request.module, "PINS_AS_EVER", False),
        worker=not getattr(request.module, "ALWAYS_ONLINE", False),
        viewport=TABLET_SIZE,
        timezone_id=ZONE,
    )
    page = context.new_page()
    problems: list[str] = []
    page.on("pageerror", lambda error: problems.append(str(error)))
    page.goto("/")
    yield page
    context.close()
    assert problems == []


@pytest.fixture(
    params=[
        pytest.param(TABLET_SIZE, id="tablet"),
        pytest.param(PHONE_SIZE, id="phone", marks=pytest.mark.long),
    ]
)
def chair(request, browser: Browser, server: Server) -> Page:
    """A page that is touched, at both sizes."""
    context = new_context(
        browser, server, worker=True, viewport=request.param, timezone_id=ZONE, has_touch=True
    )
    page = context.new_page()
    problems: list[str] = []
    page.on("pageerror", lambda error: problems.append(str(error)))
    page.goto("/")
    yield page
    context.close()
    assert problems == []


@pytest.fixture
def enrolled(chair: Page, server: Server) -> Page:
    acts.enrol(chair, server.new_code())
    return chair


@pytest.fixture
def desk(browser: Browser, server: Server) -> Page:
    permissions = ["clipboard-read", "clipboard-write"]
    context = new_context(browser, server, viewport=TABLET_SIZE, permissions=permissions)
    page = context.new_page()
    page.goto("/#/desk")
    yield page
    context.close()
