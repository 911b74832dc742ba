"""Times what a finger sees: from the tap to the next picture, and to the moment something shows."""

from dataclasses import dataclass
from statistics import median

from playwright.sync_api import Page

# The Event Timing API tells the time from a tap to the next frame after its handlers ran, in
# steps of 8 ms (W3C Event Timing, duration). Kept from the page's start on.
WATCH = """() => {
  window.taps = [];
  new PerformanceObserver((list) => {
    for (const entry of list.getEntries()) {
      const finger = ["click", "pointerup", "pointerdown"].includes(entry.name);
      if (finger) window.taps.push(entry.duration);
    }
  }).observe({ type: "event", durationThreshold: 16, buffered: true });
}"""

# Armed before the tap: the time until an element's text, or its being there, has changed.
SEEN = """([selector, before]) => {
  window.seen = new Promise((done) => {
    let tapped = 0;
    const note = () => { tapped = performance.now(); };
    addEventListener("pointerup", note, { capture: true, once: true });
    const look = () => {
      const text = document.querySelector(selector)?.textContent ?? null;
      if (tapped === 0 || text === before) return requestAnimationFrame(look);
      done(performance.now() - tapped);
    };
    look();
  });
}"""

# A fixed piece of work beside each tap: its time says how much of the machine the page had.
LOOP = """() => {
  const begun = performance.now();
  let x = 1;
  for (let i = 0; i < 400000; i += 1) x = (Math.imul(x, 31) + i) | 0;
  window.loop = x;
  return performance.now() - begun;
}"""

# Two frames: the entries of a tap are handed over after the frame they measured.
SETTLED = """() => new Promise((done) =>
  requestAnimationFrame(() => requestAnimationFrame(() => setTimeout(done, 30))))"""


@dataclass(frozen=True)
class Tap:
    """One tap: its time until it was answered, until it showed what it should, and the time of the
    loop before or after it, whichever was slower; all [ms]."""

    answered: float
    shown: float | None
    loop: float


def quietest(taps: list[Tap], count: int) -> list[Tap]:
    """The taps beside which the machine was busy with other things the least."""
    return sorted(taps, key=lambda one: one.loop)[:count]


def middle(taps: list[Tap]) -> tuple[float, float | None]:
    """The middle answer, and the middle time until it showed [ms]."""
    shown = [one.shown for one in taps if one.shown is not None]
    return median(one.answered for one in taps), median(shown) if shown else None


def watch(page: Page, *, slow_down: float) -> None:
    """Slow the page's processor down and begin to note how long each tap takes to be answered."""
    client = page.context.new_cdp_session(page)
    client.send("Emulation.setCPUThrottlingRate", {"rate": slow_down})
    page.evaluate(WATCH)


def tap(page: Page, control: str, shows: str | None = None) -> Tap:
    """Tap a control; tell the time until the next frame, and until ``shows`` shows something else.

    A tap that is answered within 16 ms makes no entry and counts as 16.
    """
    target = page.get_by_test_id(control).first
    target.scroll_into_view_if_needed()
    box = target.bounding_box()
    page.evaluate("() => { window.taps.length = 0; }")
    if shows is not None:
        selector = f"[data-testid={shows}]"
        before = page.evaluate("(s) => document.querySelector(s)?.textContent ?? null", selector)
        page.evaluate(SEEN, [selector, before])
    loop = page.evaluate(LOOP)
    page.mouse.click(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    seen = page.evaluate("() => window.seen") if shows is not None else None
    page.evaluate(SETTLED)
    loop = max(loop, page.evaluate(LOOP))
    return Tap(max([16.0, *page.evaluate("() => window.taps")]), seen, loop)
