/** The idle lock: after the minutes chosen for this tablet, 15 in an open case. */
import { lock, openRecords, person, seat } from "../session/state";
import { running } from "../session/timer";
import { tablet } from "./choices";

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
  const limit = openRecords.value.length > 0 ? 15 * MINUTE : tablet.value.lock_min * MINUTE;
  if (Date.now() - last > limit) lock();
}
