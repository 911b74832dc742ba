/**
 * What somebody had typed at a desk when their session ended under them: in memory only, theirs only.
 *
 * The screens themselves go, with all that they showed. Whoever signs in again as the same person finds
 * what they had typed in its fields; anybody else begins with an empty page.
 */

type Field = HTMLInputElement | HTMLTextAreaElement | HTMLSelectElement;
interface Kept { person_id: string; at: string; values: Map<string, string | boolean> }

/** Never a secret, a file, or what is only looked for. */
const NEVER = new Set(["password", "file", "search", "hidden"]);
const changed = new WeakSet<EventTarget>();
let kept: Kept | null = null;
let giving: MutationObserver | null = null;

const isField = (target: EventTarget | null): target is Field =>
  target instanceof HTMLTextAreaElement || target instanceof HTMLSelectElement
  || (target instanceof HTMLInputElement && !NEVER.has(target.type));
const ticked = (field: Field): field is HTMLInputElement =>
  field instanceof HTMLInputElement && (field.type === "radio" || field.type === "checkbox");

export function watchTyping(): void {
  for (const kind of ["input", "change"]) {
    document.addEventListener(kind, (event) => { if (isField(event.target)) changed.add(event.target); }, { capture: true, passive: true });
  }
}

/** Keep what was typed into the screen that shows, before it goes. */
export function keepTyping(person_id: string): void {
  giving?.disconnect();
  const values = new Map<string, string | boolean>();
  for (const field of document.querySelectorAll<Field>("#main input, #main textarea, #main select")) {
    const id = field.dataset["testid"];
    if (id && changed.has(field) && isField(field)) values.set(id, ticked(field) ? field.checked : field.value);
  }
  kept = { person_id, at: location.hash, values };
}

/** Whether anything typed waits for whoever typed it. */
export const typingKept = (): boolean => (kept?.values.size ?? 0) > 0;

/** Whose page this was before, where a session ended under somebody. */
export const keptFor = (): string | null => kept?.person_id ?? null;

/** Put it back into its fields, each when it appears, as long as the same screen shows. */
export function giveTypingBack(): void {
  const mine = kept;
  kept = null;
  if (mine === null || mine.values.size === 0) return;
  const give = () => {
    if (location.hash !== mine.at) return giving?.disconnect();
    for (const [id, value] of mine.values) {
      const field = document.querySelector<Field>(`#main [data-testid="${CSS.escape(id)}"]`);
      if (field === null) continue;
      mine.values.delete(id);
      fill(field, value);
    }
    if (mine.values.size === 0) giving?.disconnect();
  };
  giving = new MutationObserver(give);
  giving.observe(document.body, { childList: true, subtree: true });
  give();
}

function fill(field: Field, value: string | boolean): void {
  if (ticked(field)) {
    if (field.checked !== value) field.click();
    return;
  }
  field.value = String(value);
  for (const kind of ["input", "change"]) field.dispatchEvent(new Event(kind, { bubbles: true }));
}
