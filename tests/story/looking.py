"""Looks at a screen as it stands and says what would shut somebody out of it."""

from functools import cache
from pathlib import Path

from playwright.sync_api import Page

ROOT = Path(__file__).resolve().parents[2]
SIZES = ({"width": 1024, "height": 768}, {"width": 390, "height": 844})
LYING = {"width": 844, "height": 390}
NARROWEST = {"width": 320, "height": 700}  # WCAG 2.2, 1.4.10 Reflow: 320 CSS pixels
LEVELS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
SMALLEST_PX = 24  # WCAG 2.2, 2.5.8 Target Size (Minimum)
# 20 mm at the 96 pixels an inch that CSS defines: 20 / 25.4 * 96 = 75.6.
WHILE_LASING_PX = 76
WHILE_LASING = ("laser-start", "laser-stop", "power-minus", "power-plus")

RULES = """async (levels) => {
  const found = await axe.run(document, {
    runOnly: { type: "tag", values: levels }, resultTypes: ["violations"],
  });
  const said = (node, rule) => `${node.target.join(" ")} (${node.any[0]?.message ?? rule.help})`;
  return found.violations.map((v) => `${v.id}: ${v.nodes.map((n) => said(n, v)).join("; ")}`);
}"""

# A choice is pressed anywhere on its label, so that is its area.
CONTROLS = """
const controls = [...document.querySelectorAll(
  "button, a[href], input, select, textarea, summary")].filter((e) => e.checkVisibility());
const called = (e) => e.dataset.testid || e.id || e.textContent.trim().slice(0, 30) || e.tagName;
"""

AREAS = (
    "([smallest, large, names]) => {"
    + CONTROLS
    + """
  const wrong = [];
  for (const e of controls) {
    const { width, height } = (e.closest("label") ?? e).getBoundingClientRect();
    const least = names.includes(e.dataset.testid) ? large : smallest;
    if (Math.min(width, height) < least) {
      wrong.push(`area of ${called(e)}: ${width} x ${height}, less than ${least}`);
    }
  }
  return wrong;
}"""
)

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
    """What axe-core finds against WCAG 2.2 A and AA on the page as it is now."""
    if not page.evaluate("() => 'axe' in window"):
        page.evaluate(axe())
    return page.evaluate(RULES, LEVELS)


def small_areas(page: Page) -> list[str]:
    return page.evaluate(AREAS, [SMALLEST_PX, WHILE_LASING_PX, WHILE_LASING])


def lost_focus(page: Page) -> list[str]:
    """Controls that do not show the keyboard's focus, or that stay covered while they have it."""
    page.keyboard.press("Tab")  # from here on the browser shows focus as to a keyboard's user
    return page.evaluate(FOCUS)


def sideways(page: Page) -> list[str]:
    return page.evaluate(SIDEWAYS)


def crowded(page: Page) -> list[str]:
    """Bars that leave less than a third of the window (the third is this project's own choice)."""
    return page.evaluate(CROWDED)


def look(page: Page, name: str) -> list[str]:
    """Everything wrong with the screen, at both sizes, lying, and at the narrowest."""
    before = page.viewport_size
    wrong = []
    for size in SIZES:
        page.set_viewport_size(size)
        for found in (rule_breaches, small_areas, lost_focus, sideways):
            wrong += [f"{name} at {size['width']}: {one}" for one in found(page)]
    for size in (LYING, NARROWEST):
        page.set_viewport_size(size)
        for found in (sideways, crowded):
            wrong += [f"{name} at {size['width']}: {one}" for one in found(page)]
    page.set_viewport_size(before)
    return wrong
