/** The laser-on timer: its start is kept in the live store, so that it survives reload, lock and crash. */
import { signal } from "@preact/signals";
import { getLive, putLive } from "../outbox/live";
import { isWriter } from "../outbox/writer";

export interface Running {
  record_id: string;
  pass_id: string;
  started_ms: number;
  /** Set when it was stopped while nobody was signed in: a person decides about it. */
  stopped_ms: number | null;
  /** Stretches timed and stopped before this one while nobody was signed in [ms]. */
  before_ms?: number;
  /** It ran on while the program did not: nobody watched it, and no later reload forgets that. */
  unseen?: boolean;
}

export const running = signal<Running | null>(null);
/** True when it was found running after a reload or a crash: nobody watched it. */
export const cameBack = signal(false);
/** Whether what stands is written down. What is not lives in this page only, and the screen says so. */
export const kept = signal<"yes" | "saving" | "no">("yes");

/** Read back what ran; called when this tab begins to write, before anything can be timed anew. */
export async function loadTimer(): Promise<void> {
  // What runs in the writing tab is watched there: a second one neither calls it unseen nor stops it.
  if (!isWriter()) return;
  const kept = await getLive<Running>("timer");
  if (kept && !running.value) {
    const unseen = kept.unseen === true || kept.stopped_ms === null;
    running.value = { ...kept, unseen };
    cameBack.value = unseen;
    if (unseen && !kept.unseen) keep();
  }
}

/** Start timing a pass. While a time of another case or pass still waits to be kept, nothing is started over it. */
export function startTimer(record_id: string, pass_id: string, now_ms: number): void {
  const now = running.value;
  if (now && (now.record_id !== record_id || now.pass_id !== pass_id || now.stopped_ms === null)) return;
  running.value = { record_id, pass_id, started_ms: now_ms, stopped_ms: null, before_ms: now ? elapsedMs(now, now_ms) : 0, unseen: now?.unseen ?? false };
  if (!now) cameBack.value = false;
  keep();
}

/** Stop it, and leave to a person what becomes of the time. */
export function holdTimer(now_ms: number): void {
  if (!running.value || running.value.stopped_ms !== null) return;
  running.value = { ...running.value, stopped_ms: now_ms };
  keep();
}

export function clearTimer(): void {
  running.value = null;
  cameBack.value = false;
  keep();
}

/** Write down what stands; pressed again where that failed. */
export function keep(): void {
  const now = running.value;
  const told = (how: "yes" | "no") => () => { if (running.value === now) kept.value = how; };
  kept.value = "saving";
  putLive("timer", now).then(told("yes"), told("no"));
}

function elapsedMs(timer: Running, now_ms: number): number {
  return (timer.before_ms ?? 0) + Math.max(0, (timer.stopped_ms ?? now_ms) - timer.started_ms);
}

/** Elapsed time as a decimal string [s], to a tenth: no finer than a finger is. */
export function elapsed(timer: Running, now_ms: number): string {
  return (elapsedMs(timer, now_ms) / 1000).toFixed(1);
}
