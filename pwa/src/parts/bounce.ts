/** A gloved finger that bounces on the glass presses twice; the second of the two is not meant. */

/** How soon after the first a second press of the same control is its bounce [ms]. */
export const BOUNCE_MS = 300;

let last = { control: "", at_ms: -Infinity };

/**
 * Whether a press is the bounce of the one before; `at_ms` is the time of its event.
 *
 * A bounce itself is not counted as a press, so that a finger held down cannot block a control.
 */
export function bounced(control: string, at_ms: number): boolean {
  const again = last.control === control && at_ms - last.at_ms < BOUNCE_MS;
  if (!again) last = { control, at_ms };
  return again;
}

/** Something else was pressed: whoever comes back after that, however soon, means it. */
export function pressedElsewhere(): void {
  last = { control: "", at_ms: -Infinity };
}

/** Notice presses of what does not ask about bounces itself: entries of lists, links, fields, keys. */
export function watchPresses(root: EventTarget): void {
  root.addEventListener("click", (event) => {
    const control = (event.target as Element | null)?.closest?.("[data-press]")?.getAttribute("data-press");
    if (control !== last.control) pressedElsewhere();
  }, { capture: true, passive: true });
}
