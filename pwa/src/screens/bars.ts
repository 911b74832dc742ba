/**
 * How much of the window its fixed bars take, measured: text may be twice as large and wrap, and
 * what is scrolled to must come clear of them all the same.
 */

const BARS = { "--head-h": ".case-head", "--foot-h": ":not(.plan-bar) > .foot", "--plan-h": ".plan-bar" } as const;
/**
 * Beyond this share of the window the head joins the page, and beyond it without the head the other
 * bars too: what is pressed at the foot stays under the thumb longest (this project's own choice).
 */
const MOST = 0.6;

export function watchBars(): void {
  const root = document.documentElement;
  let due = false;
  const measure = () => {
    due = false;
    // All is read before anything is written: a height asked for in between lays the page out once more.
    const heights = Object.entries(BARS).map(([name, selector]) => [name, document.querySelector(selector)?.getBoundingClientRect().height ?? 0] as const);
    let taken = 0;
    let below = 0;
    for (const [name, height] of heights) {
      taken += height;
      if (name !== "--head-h") below += height;
      const said = `${Math.ceil(height)}px`;
      if (root.style.getPropertyValue(name) !== said) root.style.setProperty(name, said);
    }
    root.classList.toggle("tight", taken > window.innerHeight * MOST);
    root.classList.toggle("crowded", below > window.innerHeight * MOST);
  };
  const soon = () => {
    if (due) return;
    due = true;
    requestAnimationFrame(measure);
  };
  const sizes = new ResizeObserver(soon);
  sizes.observe(document.body);
  new MutationObserver(() => {
    for (const selector of Object.values(BARS)) {
      const bar = document.querySelector(selector);
      if (bar) sizes.observe(bar);
    }
    soon();
  }).observe(document.body, { childList: true, subtree: true });
  window.addEventListener("resize", soon);
}
