"""The app comes screen by screen: each part is kept at the first visit, a lost one is said."""

import re

from playwright.sync_api import Browser, expect

from tests.story import acts

OPERATOR = "placeholder"


def test_every_part_is_kept_for_offline_use(server, tablet):
    """What the first page names and what is fetched later are all in the worker's list."""
    main = tablet.evaluate("() => document.querySelector('script[type=module]').src")
    bundle = tablet.request.get(main).text()
    parts = {f"assets/{name}" for name in re.findall(r"[\w-]+-[\w-]{8}\.js", bundle)}
    assert len(parts) > 5
    worker = tablet.request.get("/sw.js").text()
    assert [part for part in sorted(parts) if part not in worker] == []


def test_screens_never_seen_before_open_without_a_network(server, tablet):
    tablet.evaluate("() => navigator.serviceWorker.ready.then(() => true)")
    acts.enrol(tablet, server.new_code())
    tablet.reload()
    expect(tablet.get_by_test_id("people")).to_be_visible()
    acts.sign_in(tablet, OPERATOR)
    acts.go_offline(tablet)
    for name in ("plan", "records", "practice", "today"):
        tablet.get_by_test_id(f"nav-{name}").click()
        # The new screen's heading, not that of the screen which is left.
        expect(tablet.locator(f"nav [aria-current][data-testid=nav-{name}]")).to_be_visible()
        acts.settled(tablet)
        expect(tablet.locator("main h1")).to_be_visible()
        expect(tablet.get_by_test_id("part-missing")).to_have_count(0)


def test_a_part_that_is_gone_is_said_and_a_reload_offered(browser: Browser, server):
    context = browser.new_context(
        viewport={"width": 1024, "height": 768},
        base_url=server.address,
        service_workers="block",
    )
    page = context.new_page()
    # As after a new version on the server: the old parts are gone.
    context.route(re.compile(r"/assets/practice-.*\.js"), lambda route: route.fulfill(status=404))
    page.goto("/")
    acts.enrol(page, server.new_code())
    acts.sign_in(page, OPERATOR)
    page.get_by_test_id("nav-practice").click()
    expect(page.get_by_test_id("part-missing")).to_contain_text("Nothing is lost")
    page.get_by_test_id("part-reload").click()
    expect(page.get_by_test_id("people")).to_be_visible()
    context.unroute_all()
    acts.sign_in(page, OPERATOR)
    expect(page.get_by_test_id("practice-lists")).to_be_visible()
    context.close()


BROKEN_ROOM = """() => new Promise((resolve, reject) => {
  const opening = indexedDB.open('house');
  opening.onerror = () => reject(opening.error);
  opening.onsuccess = () => {
    const writing = opening.result.transaction('documents', 'readwrite');
    writing.objectStore('documents').put({ feed: 'house', kind: 'room', doc_id: 'room-1',
      position: 1, body: { room_id: 'room-1', plan: {}, zones: [] } });
    writing.oncomplete = () => { opening.result.close(); resolve(true); };
  };
})"""


def test_a_screen_that_cannot_be_drawn_leaves_the_others_in_reach(server, browser: Browser):
    """A document that this version cannot draw must not take the whole app with it."""
    context = browser.new_context(viewport={"width": 1024, "height": 768}, base_url=server.address)
    page = context.new_page()
    page.goto("/")
    acts.enrol(page, server.new_code())
    acts.sign_in(page, OPERATOR)
    expect(page.get_by_test_id("laser").first).to_be_visible()
    acts.go_offline(page)
    page.evaluate(BROKEN_ROOM)
    page.reload()
    acts.sign_in(page, OPERATOR)
    page.goto("/#/practice/rooms/room-1")
    expect(page.get_by_test_id("screen-failed")).to_be_visible()
    page.get_by_test_id("nav-today").click()
    expect(page.get_by_test_id("laser").first).to_be_visible()
    page.get_by_test_id("lock").click()
    expect(page.get_by_test_id("people")).to_be_visible()
    context.close()
