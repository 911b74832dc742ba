"""A real browser killed while saving: what was shown as saved is there afterwards.

The browser is a process group of its own with a lasting profile; SIGKILL goes to the whole group
in the moment in which the test learns that something was shown. A twin of the page that shows
events before their transaction is complete must lose some, or the test proves nothing.
"""

import json
import os
import queue
import random
import signal
import subprocess
import threading
from functools import partial
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

import pytest

from tests.story.conftest import chromium_path

PWA = Path(__file__).resolve().parents[2] / "pwa"
pytestmark = pytest.mark.once
KILLS = 10
SEED = 20261125
PATIENCE_S = 180


@pytest.fixture(scope="module")
def pages(tmp_path_factory) -> Path:
    """The page of the crash test, built from the app's own modules."""
    folder = tmp_path_factory.mktemp("harness")
    vite = PWA / "node_modules" / ".bin" / "vite"
    if not vite.exists():
        pytest.fail("run `npm ci` in pwa first")
    subprocess.run(
        [vite, "build", "--config", "tests/harness/vite.config.ts", "--outDir", folder],
        cwd=PWA,
        check=True,
        capture_output=True,
    )
    return folder


class Handler(SimpleHTTPRequestHandler):
    """Serves the page and passes on what it tells."""

    def do_POST(self) -> None:
        length = int(self.headers["Content-Length"])
        text = self.rfile.read(length)
        if len(text) < length:
            return  # the kill cut it off: nothing was told
        # Passed on before the page gets its answer: the kill comes while it goes on saving.
        self.server.told.put((self.path, text.decode()))
        self.send_response(204)
        self.end_headers()

    def log_message(self, *_) -> None:
        pass


@pytest.fixture
def site(pages):
    """The page on a loopback port, with a queue of what it tells."""
    server = ThreadingHTTPServer(("127.0.0.1", 0), partial(Handler, directory=str(pages)))
    server.daemon_threads = True
    server.told = queue.Queue()
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    yield server
    server.shutdown()
    server.server_close()
    thread.join()


def start_browser(profile: Path, url: str) -> subprocess.Popen:
    """Start the browser as the leader of its own process group."""
    return subprocess.Popen(
        [
            chromium_path(),
            "--headless=new",
            "--no-sandbox",
            "--no-first-run",
            "--disable-gpu",
            "--disable-dev-shm-usage",
            "--disable-background-networking",
            "--disable-component-update",
            "--disable-crash-reporter",
            f"--user-data-dir={profile}",
            url,
        ],
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        start_new_session=True,
    )


def kill(browser: subprocess.Popen) -> None:
    os.killpg(browser.pid, signal.SIGKILL)
    browser.wait()


class Tally:
    """What a row of crashed runs showed, found and lost."""

    def __init__(self) -> None:
        self.shown: list[str] = []
        self.found: list[str] = []
        self.seqs: list[int] = []
        self.waiting = 0
        self.brought_back = 0
        self.durabilities: list[str] = []

    def take(self, told: tuple[str, str]) -> str:
        path, text = told
        assert path != "/failed", text
        facts = json.loads(text)
        if path == "/shown":
            self.shown += facts["marks"]
            self.durabilities += facts["begun"]
        else:
            self.found, self.seqs = facts["marks"], facts["seqs"]
            self.waiting = facts["waiting"]
            self.brought_back += facts["brought_back"]
        return path

    @property
    def lost(self) -> list[str]:
        return sorted(set(self.shown) - set(self.found))


def crash_again_and_again(
    site, profile: Path, chance: random.Random, *, stub: bool = False, kills: int = KILLS
) -> Tally:
    """Kill the browser again and again as something is shown, then read what is left."""
    tally = Tally()
    address = f"http://127.0.0.1:{site.server_address[1]}/index.html"
    for run in range(kills):
        browser = start_browser(profile, f"{address}?run={run}{'&stub' if stub else ''}")
        try:
            left = chance.randint(1, 12)
            while left > 0:
                if tally.take(site.told.get(timeout=PATIENCE_S)) == "/shown":
                    left -= 1
        finally:
            kill(browser)
        # What was shown between the last look and the kill was shown as well.
        while not site.told.empty():
            tally.take(site.told.get_nowait())
    browser = start_browser(profile, f"{address}?read")
    try:
        while tally.take(site.told.get(timeout=PATIENCE_S)) != "/found":
            pass
    finally:
        kill(browser)
    return tally


@pytest.mark.parametrize("kills", [KILLS, pytest.param(50, marks=pytest.mark.long)])
def test_what_was_shown_as_saved_survives_every_kill(site, tmp_path, kills):
    tally = crash_again_and_again(site, tmp_path / "profile", random.Random(SEED), kills=kills)
    assert len(tally.shown) >= 3 * kills
    assert tally.lost == []
    # Whole appends only, numbered without holes, each once, all readable and still to be sent.
    assert tally.seqs == list(range(1, len(tally.seqs) + 1))
    assert len(set(tally.found)) == len(tally.found) == tally.waiting
    assert len(tally.found) % 3 == 0
    assert set(tally.durabilities) == {"strict"}


def test_a_page_that_shows_too_early_loses_some(site, tmp_path):
    tally = crash_again_and_again(site, tmp_path / "profile", random.Random(SEED), stub=True)
    assert tally.lost != []


def visit(site, profile: Path, query: str, tally: Tally, *, until: str, times: int = 1) -> None:
    """Open the page, take in what it tells until it told of a kind often enough, and kill it."""
    browser = start_browser(profile, f"http://127.0.0.1:{site.server_address[1]}/?{query}")
    try:
        while times > 0:
            times -= tally.take(site.told.get(timeout=PATIENCE_S)) == until
    finally:
        kill(browser)
    while not site.told.empty():
        tally.take(site.told.get_nowait())


def lose_the_database(site, profile: Path, more: str) -> Tally:
    """Save; leave a torn record where a kill can leave one; save and read again.

    Chromium appends to the log that it finds, so that the torn record comes to stand in its middle,
    takes that for corruption at the start after, and makes an empty database.
    """
    tally = Tally()
    visit(site, profile, f"run=0{more}", tally, until="/shown")
    logs = list((profile / "Default" / "IndexedDB").glob("*/*.log"))
    assert len(logs) == 1
    os.truncate(logs[0], logs[0].stat().st_size - 50)
    torn = set(tally.shown)
    # More than the torn record is long: as long as it reaches past the end, it is only a torn end.
    visit(site, profile, f"run=1{more}", tally, until="/shown", times=12)
    assert set(tally.shown) - torn
    visit(site, profile, f"read{more}", tally, until="/found")
    return tally


def test_a_lost_database_is_brought_back_from_the_second_copy(site, tmp_path):
    tally = lose_the_database(site, tmp_path / "profile", "")
    assert tally.brought_back == 1
    assert tally.lost == []
    assert tally.seqs == list(range(1, len(tally.seqs) + 1))
    assert len(set(tally.found)) == len(tally.found) == tally.waiting


def test_a_page_without_a_second_copy_loses_everything(site, tmp_path):
    """The known-bad twin; if it loses nothing, the browser no longer does what the copy is for."""
    tally = lose_the_database(site, tmp_path / "profile", "&alone")
    assert tally.found == []
    assert tally.shown != []
