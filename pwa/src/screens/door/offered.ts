/** The code that came with the address a camera has read: "#/enrol/CODE". */
import { signal } from "@preact/signals";

export const offeredCode = signal("");

/** Take the code out of the address at once: it stays neither there nor in the history. */
export function takeOfferedCode(): void {
  const found = /^#\/enrol\/([A-Za-z0-9-]{1,40})$/.exec(location.hash);
  if (!found) return;
  offeredCode.value = found[1] ?? "";
  history.replaceState(null, "", `${location.pathname}#/`);
}
