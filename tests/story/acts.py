"""What people do on the screens, one function an act."""

import json
import re
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from playwright.sync_api import Error as PlaywrightError
from playwright.sync_api import Locator, Page, expect

HOUSE = json.loads(
    (Path(__file__).resolve().parents[2] / "demo_fixtures" / "house.json").read_text()
)

# Longer than the 300 ms in which a second tap counts as the first one's bounce.
BOUNCE_MS = 350
# How long, and how often, is looked for what no screen shows.
PATIENCE_S, LOOK_AGAIN_MS = 60, 50
# How long something may take to come from one device to another: a tablet asks every 30 s.
ARRIVES_MS = 60_000
# What lies under a key in a store of the database that the server's documents are kept in.
KEPT = """([store, key]) => new Promise((resolve, reject) => {
    const opening = indexedDB.open("house");
    opening.onerror = () => reject(opening.error);
    opening.onsuccess = () => {
      const row = opening.result.transaction(store).objectStore(store).get(key);
      row.onerror = () => { opening.result.close(); reject(row.error); };
      row.onsuccess = () => { opening.result.close(); resolve(row.result); };
    };
})"""

# Whether a text lies so often in something typed that the tablet keeps, sealed, in its store of it.
TYPED = """async ([text, times]) => {
  const got = (asked) => new Promise((done, failed) => {
    asked.onsuccess = () => done(asked.result);
    asked.onerror = () => failed(asked.error);
  });
  const house = await got(indexedDB.open("house")), outbox = await got(indexedDB.open("outbox"));
  const ring = await got(house.transaction("keys").objectStore("keys").get("ring"));
  const live = outbox.transaction("live").objectStore("live");
  const [keys, rows] = await Promise.all([got(live.getAllKeys()), got(live.getAll())]);
  house.close();
  outbox.close();
  const texts = await Promise.all(rows.map(async ({ iv, sealed }, at) => {
    const place = new TextEncoder().encode(`live|${keys[at]}`);
    const how = { name: "AES-GCM", iv, additionalData: place };
    return new TextDecoder().decode(await crypto.subtle.decrypt(how, ring.seal, sealed));
  }));
  return texts.some((one) => one.split(text).length > times);
}"""

# Whether the house has come as far as the server has spoken of it (no signed head lies beyond what
# was pulled), and, where asked for, the records too.
STOCKED = """(with_records) => new Promise((resolve, reject) => {
  const opening = indexedDB.open("house");
  opening.onerror = () => reject(opening.error);
  opening.onsuccess = () => {
    const reading = opening.result.transaction(["chain", "cursor"]);
    const chain = reading.objectStore("chain").get("chain");
    const cursor = reading.objectStore("cursor").getKey("records");
    reading.oncomplete = () => {
      opening.result.close();
      const house = chain.result !== undefined && chain.result.heads.length === 0;
      resolve(house && (!with_records || cursor.result !== undefined));
    };
  };
})"""
# How many entries the tablet holds that the server has not taken yet.
UNSENT = """() => new Promise((resolve, reject) => {
  const opening = indexedDB.open("outbox");
  opening.onerror = () => reject(opening.error);
  opening.onsuccess = () => {
    const events = opening.result.transaction("events").objectStore("events");
    const waiting = events.index("state").count("waiting");
    waiting.onsuccess = () => { opening.result.close(); resolve(waiting.result); };
  };
})"""
# Counts, from now on, what the page has asked the server for and not been told yet. The names are
# no id of anything on a page, which a window knows by it.
COUNT_ASKED = """() => {
  if (window.storyAsked !== undefined) return;
  window.storyAsked = 0;
  const ask = window.fetch;
  window.fetch = (...what) => {
    window.storyAsked += 1;
    return ask(...what).finally(() => { window.storyAsked -= 1; });
  };
}"""
# Whether the screen stood as it is for two pictures: with something on it and its letters, no part
# of it being fetched (in either language), nothing asked for.
SETTLED = f"""() => {{
  ({COUNT_ASKED})();
  const waits = [...document.querySelectorAll("[role=status]")]
    .some((one) => ["Opening…", "Abriendo…"].includes(one.textContent));
  const screen = document.querySelector("main") ?? document.body;
  const stands = screen.textContent !== "" && !waits
    && document.fonts.status === "loaded" && window.storyAsked === 0;
  const stood = window.storyStood === true;
  window.storyStood = stands && !stood;
  return stands && stood;
}}"""
# The worker has every part of the app, and answers for this page.
WORKER = """async () => {
  await navigator.serviceWorker.ready;
  return navigator.serviceWorker.controller !== null;
}"""


def person(key: str) -> dict:
    """The demo's member of staff with this key."""
    return next(one for one in HOUSE["people"] if one["key"] == key)


@contextmanager
def nothing_lost() -> Iterator[None]:
    """What is waited for in vain in here was lost: such a story is not played again."""
    try:
        yield
    except (AssertionError, PlaywrightError) as wrong:
        raise AssertionError(f"lost: {wrong}") from wrong


def until(page: Page, look: Callable, holds: Callable[..., bool], what: str):
    """Look again and again until what is seen ``holds``; return it.

    For what no screen shows. An AssertionError says ``what`` was waited for and what was seen last.
    """
    end = time.monotonic() + PATIENCE_S
    while not holds(seen := look()):
        if time.monotonic() > end:
            raise AssertionError(f"waited in vain for {what}, seen was {seen!r:.300}")
        page.wait_for_timeout(LOOK_AGAIN_MS)
    return seen


def kept(page: Page, store: str, key: str | list[str], *, holds: Callable[[dict], bool] = bool):
    """What the tablet keeps under ``key`` in a store of its database ``house``.

    Waits until it is there and ``holds``: what the server sends comes some time after a press.
    """
    with nothing_lost():
        return until(
            page,
            lambda: page.evaluate(KEPT, [store, key]),
            lambda row: row is not None and holds(row),
            f"the tablet's {store} {key}",
        )


def until_kept(page: Page, typed: str, *, times: int = 1) -> None:
    """Wait until the tablet keeps what was typed: nobody else reloads in the same blink.

    Where each press adds one more of the same, ``times`` says how many there are after the last.
    """
    with nothing_lost():
        page.wait_for_function(TYPED, arg=[typed, times])


def stocked(page: Page, *, records: bool = True) -> None:
    """Wait until the house has come, all its pages, and the records of whoever may read them."""
    until(page, lambda: page.evaluate(STOCKED, records), bool, "what the server has for a tablet")


def ready_offline(page: Page, *, records: bool = True) -> None:
    """Wait until the tablet can go on without a network: with the app, the house, the records."""
    until(page, lambda: page.evaluate(WORKER), bool, "a worker that answers for the page")
    stocked(page, records=records)


def go_offline(page: Page, *, records: bool = True) -> None:
    """Cut the network, once the tablet has what it needs without one."""
    ready_offline(page, records=records)
    page.context.set_offline(True)


def make_contact(page: Page) -> None:
    """Let the tablet ask the server soon, as it does by itself when its network comes back."""
    page.context.set_offline(True)
    page.wait_for_function("() => !navigator.onLine")
    page.context.set_offline(False)
    page.wait_for_function("() => navigator.onLine")


def settled(page: Page) -> None:
    """Wait until the screen stands, so that it can be looked at as a whole."""
    page.wait_for_function(SETTLED, polling="raf")


def all_sent(page: Page) -> None:
    """Wait until the server has taken all that the tablet holds, so that it can be asked for it."""
    with nothing_lost():
        until(page, lambda: page.evaluate(UNSENT), lambda left: left == 0, "the last entry to go")


def on_server(page: Page) -> None:
    """Wait until the record that is shown is said to be on the server, and is there."""
    expect(page.get_by_test_id("saved-state").first).to_contain_text(
        "On the server", timeout=ARRIVES_MS
    )
    all_sent(page)


def enrol(page: Page, code: str, label: str = "Tablet in room 1") -> None:
    page.get_by_test_id("enrol-code").fill(code)
    page.get_by_test_id("enrol-label").fill(label)
    page.get_by_test_id("enrol-go").click()
    expect(page.get_by_test_id("people")).to_be_visible()
    stocked(page, records=False)


def sign_in(page: Page, key: str) -> None:
    who = person(key)
    page.get_by_test_id(f"person-{who['initials'].lower()}").click()
    page.get_by_test_id("pin").fill(who["pin"])
    page.get_by_test_id("pin-go").click()
    expect(page.get_by_test_id("lock")).to_be_visible()


def desk_sign_in(page: Page, key: str) -> None:
    who = person(key)
    page.get_by_test_id("desk-name").fill(who["sign_in"])
    page.get_by_test_id("desk-password").fill(who["password"])
    page.get_by_test_id("desk-go").click()
    expect(page.get_by_test_id("desk-sign-out")).to_be_visible()


def plan_from_preset(page: Page, name: str) -> None:
    page.get_by_test_id("nav-plan").click()
    page.get_by_test_id("preset").filter(has_text=name).click()
    expect(page.get_by_test_id("dose-panel")).to_be_visible()
    page.get_by_test_id("plan-use").click()


def open_case(page: Page, *, chart: str, initials: str) -> None:
    page.get_by_test_id("chart-number").fill(chart)
    page.get_by_test_id("second-identifier").fill(initials)
    page.get_by_test_id("procedure-kind").select_option(index=1)
    page.get_by_test_id("site").fill("upper lip, midline")
    page.get_by_test_id("indication").fill("frenum pulls at the papilla")
    page.get_by_test_id("consent").check()
    page.get_by_test_id("alerts").check()
    page.get_by_test_id("case-open").click()
    expect(page.get_by_test_id("timeout")).to_be_visible()


def answer_timeout(page: Page, *, done: int = 0) -> int:
    """Answer every line with yes and close the list; returns how many lines there were."""
    lines = answer_lines(page, "timeout", done=done)
    page.get_by_test_id("timeout-finish").click()
    expect(page.get_by_test_id("timeout-done")).to_be_visible()
    return lines


def answer_lines(page: Page, prefix: str, answer: str = "yes", *, done: int = 0) -> int:
    """Give every line after those ``done`` an answer; returns how many lines the list has."""
    expect(page.get_by_test_id(f"{prefix}-progress")).to_contain_text(re.compile(f"^{done} "))
    lines = page.get_by_test_id(f"{prefix}-item").count()
    for line in range(done + 1, lines + 1):
        answer_line(page, prefix, answer, line)
    return lines


def answer_line(page: Page, prefix: str, answer: str, line: int) -> None:
    """Give the answer that makes ``line`` answered lines of a list."""
    progress = page.get_by_test_id(f"{prefix}-progress")
    touch_elsewhere(page)
    page.get_by_test_id(f"{prefix}-{answer}").click()
    expect(progress).to_contain_text(re.compile(f"^{line} "))


def touch_elsewhere(page: Page) -> None:
    """Touch a heading: what is pressed next, however soon, is no bounce of the press before."""
    page.locator("main h1").first.click()


def lift(page: Page) -> None:
    """Take the finger off for so long that the next tap is no bounce of the last."""
    page.wait_for_timeout(BOUNCE_MS)


def add_time(page: Page, seconds: str, source: str) -> None:
    """Add laser-on time from elsewhere; ``source`` is a slug such as device-counter."""
    field = page.get_by_test_id("time-seconds")
    # Opened once it stays open, and both come in one drawing.
    expect(page.get_by_test_id("other-time")).to_be_visible()
    if not field.is_visible():
        page.get_by_test_id("other-time").click()
    page.get_by_test_id(f"time-source-{source}").check()
    field.fill(seconds)
    page.get_by_test_id("time-add").click()
    expect(field).to_have_value("")


def end_and_sign(page: Page, key: str) -> None:
    page.get_by_test_id("case-end").click()
    page.get_by_test_id("outcome-haemostasis-take-0").click()
    expect(page.get_by_test_id("outcome-haemostasis")).not_to_have_value("")
    page.get_by_test_id("end-now").click()
    expect(page.get_by_test_id("read-back")).to_be_visible()
    page.get_by_test_id("sign-pin").fill(person(key)["pin"])
    page.get_by_test_id("sign-go").click()
    expect(page.get_by_test_id("signed")).to_be_visible()


def open_in_queue(page: Page, chart: str) -> Locator:
    """Open the row of a record in the chart queue, where only one is open; return it."""
    row = page.get_by_test_id("queue-row").filter(has_text=chart)
    expect(row).to_be_visible()
    if row.get_attribute("aria-current") is None:
        row.get_by_test_id("queue-select").click()
    expect(row).to_have_attribute("aria-current", "true")
    return row
