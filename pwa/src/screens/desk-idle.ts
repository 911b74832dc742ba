/** A desk that nobody touches is signed out; one that is worked at says so to the server now and then. */
import { signal } from "@preact/signals";
import { person, seat } from "../session/state";
import { deskSession, deskSignOut } from "../sync/desk";

const MINUTE_MS = 60_000;
/** As the server counts, which ends the session by itself. */
const LEFT_AFTER_MS = 30 * MINUTE_MS;
/** Somebody may write for long without asking the server anything. */
const TELL_EVERY_MS = 5 * MINUTE_MS;
const LOOK_EVERY_MS = 10_000;

/** Whether this desk was signed out because nobody used it, or from elsewhere. */
export const leftIdle = signal(false);

let touched_ms = Date.now();
let told_ms = Date.now();

export function watchDesk(): void {
  const touch = () => { touched_ms = Date.now(); };
  for (const kind of ["pointerdown", "keydown", "input"]) document.addEventListener(kind, touch, { capture: true, passive: true });
  setInterval(look, LOOK_EVERY_MS);
  document.addEventListener("visibilitychange", look);
}

function look(): void {
  const now_ms = Date.now();
  if (seat.value !== "desk" || !person.value) {
    touched_ms = told_ms = now_ms;
  } else if (now_ms - touched_ms > LEFT_AFTER_MS) {
    close();
    // Where the server cannot be told, it ends the session by itself.
    void deskSignOut().catch(() => undefined);
  } else if (touched_ms > told_ms && now_ms - told_ms > TELL_EVERY_MS) {
    told_ms = now_ms;
    void deskSession().then((session) => { if (session === null) close(); }, () => undefined);
  }
}

function close(): void {
  leftIdle.value = true;
  person.value = null;
  seat.value = "door";
}
