/** The idle lock: 2 minutes at the chair, 15 in an open case, 30 at a desk. */
import { lock, openRecords, person, seat } from "../session/state";
import { running } from "../session/timer";

const MINUTE = 60_000;
let last = Date.now();

export function watchIdle(): void {
  for (const kind of ["pointerdown", "keydown", "input"]) {
    document.addEventListener(kind, () => { last = Date.now(); }, { capture: true, passive: true });
  }
  setInterval(check, 5_000);
}

function check(): void {
  if (!person.value || seat.value !== "tablet") return;
  // A beam that is on is somebody at the chair.
  if (running.value && running.value.stopped_ms === null) return;
  const limit = openRecords.value.length > 0 ? 15 * MINUTE : 2 * MINUTE;
  if (Date.now() - last > limit) lock();
}
