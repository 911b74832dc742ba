/** Writing the server's answers beside the events they belong to. Nothing is deleted on an answer. */

import { surroundings } from "../events/surroundings";
import { parseTime } from "../events/times";
import { outbox, strictly } from "./database";
import { mayDrop, type PushResult } from "./policy";

/** Settle events, each only by a result that names its id; then put back what is to be sent again. */
export async function settle(results: readonly PushResult[], rewind_to: number | null): Promise<void> {
  if (results.length === 0 && rewind_to === null) return;
  const transaction = await strictly(["events"]);
  // Told by the awaited requests; half of the results written down is as good as none: they come again.
  transaction.done.catch(() => undefined);
  const events = transaction.objectStore("events");
  for (const result of results) {
    const row = await events.get(result.tablet_seq);
    if (row?.event_id === result.event_id) await events.put({ ...row, state: "settled", result });
  }
  if (rewind_to !== null) {
    for (const row of await events.getAll(IDBKeyRange.lowerBound(rewind_to))) {
      if (row.state === "settled") await events.put({ ...row, state: "waiting", result: null });
    }
  }
  await transaction.done;
}

/**
 * After a restore: put back to be sent what the server had taken above `position`, and what it
 * answered about without saying where. What was taken at or below it is in the restored log.
 */
export async function reoffer(position: number): Promise<void> {
  const transaction = await strictly(["events"]);
  transaction.done.catch(() => undefined);
  const events = transaction.objectStore("events");
  for (const row of await events.index("state").getAll("settled")) {
    const at = (row.result as PushResult | null)?.position;
    if (at === undefined || at > position) await events.put({ ...row, state: "waiting", result: null });
  }
  await transaction.done;
}

/** What somebody decided about an entry that the server had put aside. */
export interface Decided { event_id: string; tablet_seq: number | null; status: "released" | "rejected" }

const listeners = new Set<(seqs: readonly number[]) => void>();

/** Be told whose answers changed because somebody decided; returns the function that ends it. */
export function onDecided(listener: (seqs: readonly number[]) => void): () => void {
  listeners.add(listener);
  return () => listeners.delete(listener);
}

const erasing = new Set<(seqs: readonly number[]) => void>();

/** Be told of which entries the content was erased; returns the function that ends it. */
export function onErased(listener: (seqs: readonly number[]) => void): () => void {
  erasing.add(listener);
  return () => erasing.delete(listener);
}

export function tellErased(seqs: readonly number[]): void {
  for (const listener of erasing) listener(seqs);
}

/** Write down what was decided about this tablet's own entries; returns whether any is still aside. */
export async function noteDecided(decided: readonly Decided[]): Promise<boolean> {
  const transaction = await strictly(["events"]);
  transaction.done.catch(() => undefined);
  const events = transaction.objectStore("events");
  const changed: number[] = [];
  for (const { event_id, tablet_seq, status } of decided) {
    const row = tablet_seq === null ? undefined : await events.get(tablet_seq);
    // What was rejected may be released later.
    if (row?.event_id !== event_id || !(isAside(row.result) || isRejected(row.result))) continue;
    const outcome = status === "released" ? "applied" : "rejected";
    await events.put({ ...row, result: { ...row.result, outcome } });
    changed.push(row.tablet_seq);
  }
  let left = false;
  for (let at = await events.openCursor(null, "prev"); at !== null && !left; at = await at.continue()) left = isAside(at.value.result);
  await transaction.done;
  if (changed.length > 0) for (const listener of listeners) listener(changed);
  return left;
}

const isRejected = (result: object | null): boolean => (result as { outcome?: string } | null)?.outcome === "rejected";
const isAside = (result: object | null): boolean => (result as { outcome?: string } | null)?.outcome === "quarantined";

/** The lowest sequence still held, or 1 where nothing is. */
export async function heldFrom(): Promise<number> {
  const keys = await (await outbox()).getAllKeys("events", null, 1);
  return keys[0] ?? 1;
}

/** Drop settled events that are old and inside a verified backup; returns how many. */
export async function dropDurable(durable_position: number | null): Promise<number> {
  if (durable_position === null) return 0;
  const now = surroundings().now();
  const transaction = await strictly(["events"]);
  let dropped = 0;
  for (const row of await transaction.store.index("state").getAll("settled")) {
    if (!mayDrop(row.result, now - parseTime(row.saved_at), durable_position)) break;
    await transaction.store.delete(row.tablet_seq);
    dropped += 1;
  }
  await transaction.done;
  return dropped;
}
