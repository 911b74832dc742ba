"""Whether every text can be read through protective eyewear.

Eyewear is simulated: a share of each of the screen's three primaries that passes, in linear
light. The three filters below are our own choice, made to be harder than what such lenses look
like: an amber one that lets next to no blue through, a blue-green one without red, and a red one
without green and blue. Contrast is WCAG 2.2's (relative luminance of sRGB, 1.4.3), where both the
luminance and the 0.05 of stray light are counted against white as seen through the same filter,
because eyes adapt to what reaches them. Text needs 4.5:1 and the edge of a control 3:1 (1.4.11),
also without a filter.
"""

from playwright.sync_api import Page

# Transmission of red, green and blue [1]. Simulated, our own choice; see above.
FILTERS = {
    "no filter": (1.0, 1.0, 1.0),
    "amber": (0.90, 0.55, 0.02),
    "blue-green": (0.03, 0.55, 0.65),
    "red": (0.75, 0.03, 0.01),
}
TEXT, EDGE = 4.5, 3.0

LOOK = """([filters, least, edge]) => {
  const parse = (text) => {
    const found = text.match(/rgba?\\(([^)]+)\\)/);
    if (!found) throw new Error(`a colour in another form: ${text}`);
    const [r, g, b, a = 1] = found[1].split(/[ ,\\/]+/).map(Number);
    return [r, g, b, a];
  };
  const over = (top, below) => top.slice(0, 3).map((c, i) => c * top[3] + below[i] * (1 - top[3]));
  const behind = (element) => {
    const layers = [];
    for (let e = element; e; e = e.parentElement) {
      const colour = parse(getComputedStyle(e).backgroundColor);
      if (colour[3] > 0) layers.push(colour);
      if (colour[3] === 1) break;
    }
    return layers.reverse().reduce((below, top) => over(top, below), [255, 255, 255]);
  };
  const linear = (c) => (c / 255 <= 0.04045 ? c / 255 / 12.92 : ((c / 255 + 0.055) / 1.055) ** 2.4);
  const WEIGHTS = [0.2126, 0.7152, 0.0722];
  const ratio = (one, other, passed) => {
    const white = WEIGHTS.reduce((sum, w, i) => sum + w * passed[i], 0);
    const bright = (colour) => colour.reduce(
      (sum, c, i) => sum + WEIGHTS[i] * passed[i] * linear(c), 0) / white;
    const [low, high] = [bright(one), bright(other)].sort((a, b) => a - b);
    return (high + 0.05) / (low + 0.05);
  };
  const wrong = new Set();
  const judge = (what, one, other, need) => {
    for (const [name, passed] of Object.entries(filters)) {
      const found = ratio(one, other, passed);
      if (found < need) wrong.add(`${what}: ${found.toFixed(2)}:1 through ${name}`);
    }
  };
  const UNSEEN = ["SCRIPT", "STYLE", "NOSCRIPT", "OPTION", "TITLE", "DESC"];
  const texts = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  for (let node = texts.nextNode(); node; node = texts.nextNode()) {
    const said = node.textContent.trim();
    const holder = node.parentElement;
    const seen = holder.checkVisibility({ opacityProperty: true, visibilityProperty: true });
    if (!said || !seen || UNSEEN.includes(holder.tagName)) continue;
    const style = getComputedStyle(holder);
    const drawn = holder instanceof SVGElement;
    const ink = parse(drawn ? style.fill : style.color);
    const ground = behind(drawn ? holder.ownerSVGElement : holder);
    judge(`“${said.slice(0, 30)}”`, over(ink, ground), ground, least);
  }
  const controls = "input, select, textarea, button, .button, .choice";
  for (const control of document.querySelectorAll(controls)) {
    if (!control.checkVisibility() || control.closest(".quiet, summary")) continue;
    const style = getComputedStyle(control);
    if (parseFloat(style.borderTopWidth) === 0) continue;
    const line = parse(style.borderTopColor);
    const around = behind(control.parentElement);
    const fill = behind(control);
    const best = line[3] === 0 ? fill : over(line, around);
    judge(`edge of ${control.dataset.testid || control.id || control.tagName}`, best, around, edge);
  }
  return [...wrong];
}"""


def faint(page: Page) -> list[str]:
    """Texts and edges of controls that are too faint, with the filter and the contrast found."""
    return page.evaluate(LOOK, [FILTERS, TEXT, EDGE])
