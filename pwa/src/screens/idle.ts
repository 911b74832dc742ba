/** The idle lock: after the minutes chosen for this tablet, 15 in an open case. */
import { lock, openRecords, person, seat } from "../session/state";
import { startedMs } from "../session/written";
import { tablet } from "./choices";

const MINUTE = 60_000;
const IN_A_CASE = 15 * MINUTE;
/** A case that was opened longer ago was left open: nobody is at work in it. */
const AT_WORK = 12 * 60 * MINUTE;

let last = { clock_ms: Date.now(), counter_ms: performance.now() };

export function watchIdle(): void {
  const touched = () => { last = { clock_ms: Date.now(), counter_ms: performance.now() }; };
  for (const kind of ["pointerdown", "keydown", "input"]) document.addEventListener(kind, touched, { capture: true, passive: true });
  setInterval(check, 5_000);
  // A tablet that slept shows nothing of what was on it when it wakes.
  document.addEventListener("visibilitychange", check);
}

/** A running time stops nothing of this: the lock screen goes on showing it, with its stop. */
function check(): void {
  if (!person.value || seat.value !== "tablet") return;
  const at_work = openRecords.value.some((record) => Date.now() - startedMs(record) < AT_WORK);
  if (idleMs() > (at_work ? IN_A_CASE : tablet.value.lock_min * MINUTE)) lock();
}

/** By whichever says more: a clock may be put back, and the counter may stand still in sleep. */
function idleMs(): number {
  return Math.max(Date.now() - last.clock_ms, performance.now() - last.counter_ms);
}
