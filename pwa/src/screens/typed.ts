/** Whether something is typed into the screen that shows, and nowhere kept yet. */

type Line = HTMLInputElement | HTMLTextAreaElement;
const touched = new WeakSet<Element>();

/** What is only looked for, or chosen from a calendar to look with, is not lost by going on. */
const written = (field: EventTarget | null): field is Line =>
  field instanceof HTMLTextAreaElement || (field instanceof HTMLInputElement && (field.type === "text" || field.type === "password"));

export function watchTyped(): void {
  document.addEventListener("input", (event) => { if (written(event.target)) touched.add(event.target); }, { capture: true, passive: true });
}

export const typedHere = (): boolean =>
  [...document.querySelectorAll<Line>("#main input, #main textarea")].some((field) => touched.has(field) && field.value.trim() !== "");
