/**
 * A desk that nobody touches is signed out; one that is worked at says so to the server now and then, and
 * hears from it what was done elsewhere: a session that was ended, other roles, an emergency that is over.
 */
import { signal } from "@preact/signals";
import { person, place, places, seat, takeDesk } from "../session/state";
import { onNotAllowed, onReplaced, onSignedOut } from "../sync/client";
import { deskSession, deskSignOut } from "../sync/desk";
import { giveTypingBack, keepTyping, keptFor } from "./kept-typing";

const MINUTE_MS = 60_000;
/** As the server counts, which ends the session by itself. */
const LEFT_AFTER_MS = 30 * MINUTE_MS;
/** Somebody may write for long without asking the server anything. */
const TELL_EVERY_MS = 5 * MINUTE_MS;
const LOOK_EVERY_MS = 10_000;

/** Why this desk shows its door though nobody signed out: nobody used it, or it was ended elsewhere. */
export const leftBecause = signal<"idle" | "ended" | null>(null);

type Session = Parameters<typeof takeDesk>[0];

let touched_ms = Date.now();
let told_ms = Date.now();

export function watchDesk(): void {
  const touch = () => { touched_ms = Date.now(); };
  for (const kind of ["pointerdown", "keydown", "input"]) document.addEventListener(kind, touch, { capture: true, passive: true });
  setInterval(look, LOOK_EVERY_MS);
  document.addEventListener("visibilitychange", look);
  onSignedOut(() => close("ended"));
  onReplaced(beginAnew);
  onNotAllowed(() => void follow());
  window.addEventListener("hashchange", () => void follow());
}

function look(): void {
  const now_ms = Date.now();
  if (seat.value !== "desk" || !person.value) {
    touched_ms = told_ms = now_ms;
  } else if (now_ms - touched_ms > LEFT_AFTER_MS) {
    close("idle");
    // Where the server cannot be told, it ends the session by itself.
    void deskSignOut().catch(() => undefined);
  } else if (touched_ms > told_ms && now_ms - told_ms > TELL_EVERY_MS) {
    told_ms = now_ms;
    void follow();
  }
}

/** Take what the server says now of whoever is signed in: rights may have come or gone. */
export async function follow(): Promise<void> {
  const before = person.peek();
  if (seat.peek() !== "desk" || before === null) return;
  const session = (await deskSession().catch(() => null)) as Session | null;
  // Nobody is signed in any more: that has been heard of already.
  if (session === null || person.peek() !== before) return;
  if (session.person.person_id !== before.person_id) return beginAnew();
  const { location_id } = session.location ?? {};
  // Another tab went on to another location, which has a notice of its own.
  if (location_id !== place.peek()?.location_id) return;
  const was = JSON.stringify([before.roles, before.emergency ?? null, places.peek()]);
  if (JSON.stringify([session.roles, session.emergency ?? null, session.locations]) !== was) takeDesk(session);
}

function close(why: "idle" | "ended"): void {
  const who = person.peek();
  if (seat.peek() !== "desk" || who === null) return;
  keepTyping(who.person_id);
  leftBecause.value = why;
  person.value = null;
  seat.value = "door";
  // The notice that says why stands at the top, wherever the screen before was read.
  window.scrollTo(0, 0);
}

/** Open the desk to whoever has signed in: the same person goes on, anybody else begins anew. */
export async function enterDesk(): Promise<void> {
  const session = (await deskSession()) as Session | null;
  if (session === null) return;
  const before = keptFor();
  if (before !== null && before !== session.person.person_id) return beginAnew();
  leftBecause.value = null;
  takeDesk(session);
  giveTypingBack();
}

/** Load the page anew, at the desk's own door or its first screen: nothing of whoever was here stays in memory. */
export function beginAnew(): void {
  history.replaceState(null, "", "#/desk");
  location.reload();
}
