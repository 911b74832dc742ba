"""Sizes of what is pressed, in millimetres of the glass, at several densities of pixels."""

from playwright.sync_api import Page

# CSS pixels in a millimetre: as CSS defines (96 an inch), a common tablet with two device pixels
# each (132 an inch), and Android's density-independent pixel (160 an inch).
DENSITIES = (96 / 25.4, 132 / 25.4, 160 / 25.4)
WHILE_LASING_MM = 20.0
OTHERS_MM = 12.0
GAP_MM = 2.7  # 3 mm less a tenth, because browsers round to parts of a pixel
WHILE_LASING = ("laser-start", "laser-stop", "power-minus", "power-plus", "pass-start")

MEASURE = """([density, lasing, large, small, gap]) => {
  const kept = document.documentElement.style.getPropertyValue("--mm");
  document.documentElement.style.setProperty("--mm", `${density}px`);
  const areas = [...document.querySelectorAll(
    "button, a[href], .choice, input, select, textarea, summary")].filter((e) =>
    e.checkVisibility() && e.type !== "file" && !e.matches(".skip")
    && !(e.tagName === "INPUT" && e.closest(".choice"))
    // A link in the flow of a sentence has the size of its words (WCAG 2.2, 2.5.8).
    && !(e.tagName === "A" && getComputedStyle(e).display === "inline"));
  const called = (e) => e.dataset.testid || e.querySelector("[data-testid]")?.dataset.testid
    || e.id || e.textContent.trim().slice(0, 30) || e.tagName;
  const wrong = [];
  const boxes = areas.map((e) => [e, e.getBoundingClientRect()]).filter(([, box]) => box.width > 0);
  for (const [e, { width, height }] of boxes) {
    const least = lasing.includes(e.dataset.testid) ? large : small;
    const mm = Math.min(width, height) / density;
    if (mm < least - 0.05) wrong.push(`${called(e)}: ${mm.toFixed(1)} mm, less than ${least}`);
  }
  const apart = (a, b) => Math.max(
    a.left - b.right, b.left - a.right, a.top - b.bottom, b.top - a.bottom) / density;
  for (let i = 0; i < boxes.length; i += 1) {
    for (let j = 0; j < i; j += 1) {
      const [one, other] = [boxes[i], boxes[j]];
      if (one[0].contains(other[0]) || other[0].contains(one[0])) continue;
      // What scrolls under a bar is not beside what is in it, and what opens in place is a row.
      const bar = (e) => e.closest(".foot, .plan-bar, .case-head, .strip, .top");
      if (bar(one[0]) !== bar(other[0])) continue;
      if (one[0].tagName === "SUMMARY" || other[0].tagName === "SUMMARY") continue;
      // A number and the unit that belongs to it are one field.
      const field = one[0].closest(".quantity");
      if (field && field === other[0].closest(".quantity")) continue;
      if (one[0].closest("nav") && other[0].closest("nav")) continue;
      const mm = apart(one[1], other[1]);
      if (mm >= gap) continue;
      wrong.push(`${called(one[0])} and ${called(other[0])}: ${mm.toFixed(1)} mm apart`);
    }
  }
  document.documentElement.style.setProperty("--mm", kept);
  return wrong.map((text) => `${text}, at ${density.toFixed(2)} px in a millimetre`);
}"""


def small_or_crowded(page: Page) -> list[str]:
    """Controls that are too small or too close, in millimetres, at any of the densities."""
    given = [WHILE_LASING, WHILE_LASING_MM, OTHERS_MM, GAP_MM]
    return [one for density in DENSITIES for one in page.evaluate(MEASURE, [density, *given])]
