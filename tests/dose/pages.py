"""A bundled TypeScript engine in a page of a real browser."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from playwright.sync_api import Browser, Page, Route

# Answered below, by nobody else: the name is one that no resolver knows (RFC 6761).
ADDRESS = "http://engine.test"


@contextmanager
def page_of(browser: Browser, folder: Path) -> Iterator[Page]:
    """An empty page that can import the modules of ``folder``, as ``import("/name.mjs")``."""

    def answer(route: Route) -> None:
        name = route.request.url.removeprefix(f"{ADDRESS}/")
        if name:
            route.fulfill(path=folder / name, content_type="text/javascript")
        else:
            route.fulfill(body="<!doctype html>", content_type="text/html")

    context = browser.new_context()
    context.route("**/*", answer)
    page = context.new_page()
    page.goto(f"{ADDRESS}/")
    yield page
    context.close()
