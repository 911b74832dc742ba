"""Every part in every state, by itself: with nothing wrong to see, in both languages."""

import subprocess
import threading
from functools import partial
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer

import pytest
from playwright.sync_api import expect

from tests.story import looking
from tests.story.conftest import ROOT


class _Quiet(SimpleHTTPRequestHandler):
    def log_message(self, *_: object) -> None:
        """Say nothing."""


@pytest.fixture(scope="module")
def gallery(tmp_path_factory):
    folder = tmp_path_factory.mktemp("gallery")
    vite = ROOT / "pwa" / "node_modules" / ".bin" / "vite"
    built = subprocess.run(
        [vite, "build", "--config", "tests/gallery/vite.config.ts", "--outDir", folder],
        cwd=ROOT / "pwa",
        capture_output=True,
        text=True,
    )
    assert built.returncode == 0, built.stderr
    server = ThreadingHTTPServer(("127.0.0.1", 0), partial(_Quiet, directory=folder))
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield f"http://127.0.0.1:{server.server_port}/"
    server.shutdown()


@pytest.mark.parametrize(("language", "address"), [("en", ""), ("es", "?es")])
def test_every_state_of_every_part(browser, gallery, language, address):
    context = browser.new_context(viewport=looking.TABLET, locale="en-GB")
    page = context.new_page()
    problems: list[str] = []
    page.on("pageerror", lambda error: problems.append(str(error)))
    page.goto(gallery + address)
    expect(page.locator(f"html[lang={language}] h1")).to_be_visible()
    expect(page.locator("main > section.sheet")).to_have_count(17)
    wrong = looking.look(page, f"parts in {language}")
    # So that it is known to see what it looks at.
    assert len(page.screenshot(full_page=True)) > 50_000
    assert not wrong, "\n".join(wrong)
    assert problems == []
    context.close()
