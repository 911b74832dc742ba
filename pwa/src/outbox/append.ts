/**
 * Saving: read the sequence, build, sign, encrypt, write the second copy, then one strict
 * transaction in which nothing else is awaited. Only its `complete` lets anything be called saved
 * on this tablet.
 */

import { buildEvent, type BuiltEvent, type EventDraft } from "../events/build";
import { nowText } from "../events/times";
import { contact, identity } from "../store/identity";
import { readKeys, sign } from "../store/keys";
import { outbox, strictly, type EventRow } from "./database";
import { asOutboxError, OutboxError } from "./errors";
import type { StoredEvent } from "./read";
import { eventPlace, seal } from "../store/seal";
import { keepFirst, takeBack } from "./second";
import { isWriter } from "./writer";

/** Most bytes of body and payload together. */
export const EVENT_LIMIT_BYTES = 64 * 1024;

const listeners = new Set<() => void>();
let turn: Promise<unknown> = Promise.resolve();

/** Be told after each save; returns the function that ends it. */
export function onAppend(listener: () => void): () => void {
  listeners.add(listener);
  return () => listeners.delete(listener);
}

/**
 * Save events, all or none, in the order given.
 *
 * Resolves only after the transaction is complete. Throws OutboxError, and then nothing was saved.
 */
export function append(drafts: EventDraft[], actor_id: string | null): Promise<StoredEvent[]> {
  const mine = turn.then(() => save(drafts, actor_id));
  // The next save waits for this one, whether it held or not.
  turn = mine.catch(() => undefined);
  return mine;
}

/** Do something between two saves: none is under way, and the next one waits. */
export function betweenSaves<T>(work: () => Promise<T>): Promise<T> {
  const mine = turn.then(work);
  turn = mine.catch(() => undefined);
  return mine;
}

async function save(drafts: EventDraft[], actor_id: string | null): Promise<StoredEvent[]> {
  if (!isWriter()) throw new OutboxError("read_only_tab", "Another tab is writing; this one only shows.");
  let first: number;
  let built: BuiltEvent[];
  let rows: EventRow[];
  try {
    const [who, ring] = await Promise.all([identity(), readKeys()]);
    if (who === null || ring === null) throw new OutboxError("not_enrolled", "This tablet is not enrolled.");
    first = await nextSeq();
    const context = {
      tablet_id: who.tablet_id,
      location_id: who.location_id,
      actor_id,
      clock_offset_ms: (await contact()).clock_offset_ms,
      sign: (bytes: Uint8Array<ArrayBuffer>) => sign(ring, bytes),
    };
    built = [];
    for (const [index, draft] of drafts.entries()) built.push(await buildEvent(draft, first + index, context));
    if (built.some((event) => event.size_bytes > EVENT_LIMIT_BYTES)) {
      throw new OutboxError("too_large", "This entry is larger than 64 KiB.");
    }
    const saved_at = nowText();
    rows = await Promise.all(built.map(async ({ item, body }): Promise<EventRow> => ({
      tablet_seq: item.tablet_seq,
      event_id: item.event_id,
      saved_at,
      ...(await seal(ring.seal, eventPlace(item.tablet_seq, item.event_id), { item, record_id: body.entity_id })),
      state: "waiting",
      result: null,
    })));
  } catch (problem) {
    // A draft that cannot be written down is the caller's mistake, not the storage's.
    throw problem instanceof TypeError ? problem : asOutboxError(problem);
  }
  await keepFirst(rows);
  try {
    await write(rows, first);
  } catch (problem) {
    await takeBack(first);
    throw problem;
  }
  for (const listener of listeners) listener();
  return built.map(({ item, body, payload, body_hash }, index) => ({
    tablet_seq: item.tablet_seq,
    event_id: item.event_id,
    body,
    payload,
    body_hash,
    state: "waiting",
    result: null,
    saved_at: rows[index]?.saved_at ?? "",
  }));
}

async function nextSeq(): Promise<number> {
  const read = async (): Promise<number> => (await (await outbox()).get("writer", "seq"))?.next ?? 1;
  try {
    return await read();
  } catch (problem) {
    if (!(problem instanceof Error) || problem.name !== "InvalidStateError") throw problem;
    // The handle died: a strict transaction opens the database again.
    await (await strictly(["writer"])).done;
    return read();
  }
}

async function write(rows: EventRow[], first: number): Promise<void> {
  const transaction = await strictly(["events", "writer"]);
  // Whoever hears of a failure hears it below; this one must not be reported a second time.
  transaction.done.catch(() => undefined);
  try {
    const writer = transaction.objectStore("writer");
    if (((await writer.get("seq"))?.next ?? 1) !== first) {
      throw new OutboxError("seq_moved", "Another tab wrote at the same time.");
    }
    const events = transaction.objectStore("events");
    const handed = (request: Promise<unknown>): void => void request.catch(() => undefined);
    for (const row of rows) handed(events.add(row));
    handed(writer.put({ next: first + rows.length }, "seq"));
    // A request that fails aborts its transaction, so that this one promise tells of them all.
    await transaction.done;
  } catch (problem) {
    // A call that throws does not take back those before it: without this they would be committed.
    abort(transaction);
    throw asOutboxError(transaction.error ?? problem);
  }
}

function abort(transaction: { abort(): void }): void {
  try {
    transaction.abort();
  } catch {
    // It was over already.
  }
}
