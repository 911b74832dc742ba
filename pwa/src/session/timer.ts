/** The laser-on timer: its start is kept in the live store, so that it survives reload and lock. */
import { signal } from "@preact/signals";
import { getLive, putLive } from "../outbox/live";

export interface Running {
  record_id: string;
  pass_id: string;
  started_ms: number;
  /** Set when somebody stopped it while nobody was signed in. */
  stopped_ms: number | null;
}

export const running = signal<Running | null>(null);
/** True when the start was read back from the store, not seen by this page. */
export const cameBack = signal(false);

export async function loadTimer(): Promise<void> {
  const kept = (await getLive("timer")) as Running | null;
  if (kept && !running.value) {
    running.value = kept;
    cameBack.value = true;
  }
}

/** Start timing a pass. While a time of another case still waits to be kept, nothing is started over it. */
export function startTimer(record_id: string, pass_id: string, now_ms: number): void {
  if (running.value && running.value.record_id !== record_id) return;
  running.value = { record_id, pass_id, started_ms: now_ms, stopped_ms: null };
  cameBack.value = false;
  void putLive("timer", running.value);
}

export function holdTimer(now_ms: number): void {
  if (!running.value) return;
  running.value = { ...running.value, stopped_ms: running.value.stopped_ms ?? now_ms };
  void putLive("timer", running.value);
}

export function clearTimer(): void {
  running.value = null;
  cameBack.value = false;
  void putLive("timer", null);
}

/** Elapsed time as a decimal string [s], to a tenth: no finer than a finger is. */
export function elapsed(timer: Running, now_ms: number): string {
  const end = timer.stopped_ms ?? now_ms;
  return (Math.max(0, end - timer.started_ms) / 1000).toFixed(1);
}
