"""A real server with the demo practice on loopback, and a real browser."""

import json
import os
import shutil
import socket
import subprocess
import sys
import time
import urllib.request
from dataclasses import dataclass
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, sync_playwright

from tests.story import acts

ROOT = Path(__file__).resolve().parents[2]
DOSEBOOK = Path(sys.executable).with_name("dosebook")
TABLET_SIZE = {"width": 1024, "height": 768}
QUIET = (
    "--no-sandbox",
    "--disable-gpu",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)


@dataclass(frozen=True)
class Server:
    """A served demo practice: where it is and how to give it a command."""

    port: int
    environment: dict[str, str]

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def dosebook(self, *arguments: str) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [DOSEBOOK, *arguments], env=self.environment, capture_output=True, text=True
        )

    def new_code(self) -> str:
        return json.loads(self.dosebook("tablet", "code", "--json").stdout)["code"]


def chromium_path() -> str:
    found = os.environ.get("CHROMIUM") or shutil.which("chromium") or shutil.which("google-chrome")
    assert found, "Chromium is needed; `bash deploy/check` finds or installs it"
    return found


@pytest.fixture(scope="module")
def server(tmp_path_factory):
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    data = tmp_path_factory.mktemp("practice")
    served = Server(port, {**os.environ, "DOSEBOOK_DATA": str(data), "PORT": str(port)})
    served.environment.pop("DATABASE_URL", None)
    for command in (("db", "upgrade"), ("demo", "load")):
        done = served.dosebook(*command)
        assert done.returncode == 0, done.stderr
    running = [
        subprocess.Popen([DOSEBOOK, name], env=served.environment, stderr=subprocess.DEVNULL)
        for name in ("serve", "work")
    ]
    try:
        _wait_until_healthy(served.address)
        yield served
    finally:
        for process in running:
            process.terminate()
        for process in running:
            process.wait(timeout=30)


def _wait_until_healthy(address: str) -> None:
    until = time.monotonic() + 30
    while True:
        try:
            urllib.request.urlopen(f"{address}/api/v1/health", timeout=2).close()
            return
        except OSError:
            if time.monotonic() > until:
                raise


@pytest.fixture(scope="module")
def browser():
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=chromium_path(), args=list(QUIET))
        yield started
        started.close()


@pytest.fixture
def tablet(browser: Browser, server: Server) -> Page:
    """A page of a browser that has not met the practice yet."""
    context = browser.new_context(
        viewport=TABLET_SIZE, base_url=server.address, timezone_id=acts.HOUSE["location"]["zone"]
    )
    page = context.new_page()
    problems: list[str] = []
    page.on("pageerror", lambda error: problems.append(str(error)))
    page.goto("/")
    yield page
    context.close()
    assert problems == []


@pytest.fixture
def desk(browser: Browser, server: Server) -> Page:
    context = browser.new_context(
        viewport=TABLET_SIZE,
        base_url=server.address,
        permissions=["clipboard-read", "clipboard-write"],
    )
    page = context.new_page()
    page.goto("/#/desk")
    yield page
    context.close()
