"""Looks at a screen as it stands and says what would shut somebody out of it."""

from functools import cache
from pathlib import Path

from playwright.sync_api import Page

from tests.story import acts, eyewear, glass

ROOT = Path(__file__).resolve().parents[2]
TABLET, PHONE = {"width": 1024, "height": 768}, {"width": 390, "height": 844}
TURNED = {"width": 768, "height": 1024}, {"width": 844, "height": 390}
SIZES = (TABLET, PHONE, *TURNED)
NARROWEST = {"width": 320, "height": 700}  # WCAG 2.2, 1.4.10 Reflow: 320 CSS pixels
LEVELS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
RULES = """async (levels) => {
  const found = await axe.run(document, {
    runOnly: { type: "tag", values: levels }, resultTypes: ["violations"],
  });
  const said = (node, rule) => `${node.target.join(" ")} (${node.any[0]?.message ?? rule.help})`;
  return found.violations.map((v) => `${v.id}: ${v.nodes.map((n) => said(n, v)).join("; ")}`);
}"""

CONTROLS = """
const controls = [...document.querySelectorAll(
  "button, a[href], input, select, textarea, summary")].filter((e) => e.checkVisibility());
const called = (e) => e.dataset.testid || e.id || e.textContent.trim().slice(0, 30) || e.tagName;
"""

FOCUS = (
    "() => {"
    + CONTROLS
    + """
  const wrong = [];
  for (const e of controls.filter((one) => !one.disabled)) {
    e.focus();
    if (document.activeElement !== e) { wrong.push(`${called(e)} takes no focus`); continue; }
    const { outlineStyle, outlineWidth } = getComputedStyle(e);
    if (outlineStyle === "none" || parseFloat(outlineWidth) < 2) {
      wrong.push(`focus on ${called(e)} does not show`);
    }
    const { left, top, width, height } = e.getBoundingClientRect();
    const seen = document.elementFromPoint(left + width / 2, top + height / 2);
    if (!seen || !(e.contains(seen) || seen.contains(e))) {
      const over = seen ? seen.className || seen.tagName : "the edge";
      wrong.push(`${called(e)} is under ${over} while it has the focus`);
    }
  }
  document.activeElement?.blur();
  scrollTo(0, 0);
  return wrong;
}"""
)

SIDEWAYS = """() => {
  const room = document.documentElement.clientWidth;
  if (document.documentElement.scrollWidth <= room) return [];
  const out = [...document.body.querySelectorAll("*")]
    .filter((e) => e.getBoundingClientRect().left + e.scrollWidth > room + 1)
    .map((e) => `${e.tagName}.${e.className} "${e.textContent.slice(0, 20)}"`);
  return [`wider than ${room}: ${out.slice(-5).join(", ")}`];
}"""

CROWDED = """() => {
  const stuck = [...document.querySelectorAll("body *")].filter((e) =>
    e.checkVisibility() && ["fixed", "sticky"].includes(getComputedStyle(e).position));
  const taken = stuck.reduce((sum, e) => sum + e.getBoundingClientRect().height, 0);
  return taken > innerHeight * 2 / 3 ? [`the bars take ${taken} of ${innerHeight}`] : [];
}"""


@cache
def axe() -> str:
    return (ROOT / "pwa" / "node_modules" / "axe-core" / "axe.min.js").read_text()


def rule_breaches(page: Page) -> list[str]:
    """What axe-core finds against WCAG 2.2 A and AA on the page, once it stands."""
    acts.settled(page)
    if not page.evaluate("() => 'axe' in window"):
        page.evaluate(axe())
    return page.evaluate(RULES, LEVELS)


def lost_focus(page: Page) -> list[str]:
    """Controls that do not show the keyboard's focus, or that stay covered while they have it."""
    page.keyboard.press("Tab")  # from here on the browser shows focus as to a keyboard's user
    return page.evaluate(FOCUS)


def sideways(page: Page) -> list[str]:
    return page.evaluate(SIDEWAYS)


def crowded(page: Page) -> list[str]:
    """Bars that leave less than a third of the window (the third is this project's own choice)."""
    return page.evaluate(CROWDED)


def _at(page: Page, size: dict, *, twice_the_text: bool = False) -> None:
    page.set_viewport_size(size)
    # WCAG 2.2, 1.4.4 Resize Text: 200 %.
    wanted = "200%" if twice_the_text else ""
    page.evaluate("size => { document.documentElement.style.fontSize = size; }", wanted)
    # The bars are measured once the page was laid out anew.
    page.evaluate("() => new Promise((done) => requestAnimationFrame(() => setTimeout(done)))")


def _named(page: Page, name: str, *found: list[str]) -> list[str]:
    size = page.viewport_size
    return [
        f"{name} at {size['width']} x {size['height']}: {one}" for each in found for one in each
    ]


def look(page: Page, name: str) -> list[str]:
    """What is wrong with the screen as it stands, and at the narrowest."""
    before = page.viewport_size
    seen = [rule_breaches(page), eyewear.faint(page), glass.small_or_crowded(page)]
    wrong = _named(page, name, *seen)
    _at(page, NARROWEST)
    wrong += _named(page, name, sideways(page), crowded(page))
    _at(page, before)
    return wrong


def look_closely(page: Page, name: str) -> list[str]:
    """Everything wrong with the screen, at every size, both ways up, and with large text."""
    before = page.viewport_size
    wrong = look(page, name)
    for size in SIZES:
        _at(page, size)
        found = [check(page) for check in (rule_breaches, lost_focus, sideways, crowded)]
        wrong += _named(page, name, *found)
        _at(page, size, twice_the_text=True)
        wrong += _named(page, f"{name}, twice the text", sideways(page))
    _at(page, before)
    return wrong
