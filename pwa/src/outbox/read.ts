/** Reading what this tablet has saved, decrypted and in the order it was made. */

import { base64url, hex, sha256, utf8 } from "../events/bytes";
import type { EventBody, EventPayload, Item } from "../events/build";
import { identity } from "../store/identity";
import { readKeys, sign } from "../store/keys";
import { outbox, type EventRow } from "./database";
import { asOutboxError, OutboxError } from "./errors";
import { eventPlace, unseal } from "../store/seal";

/** Stands where the salt of an erased payload stood, so that nobody can guess it from its hash. */
export const ERASED_SALT = "0".repeat(32);

export interface StoredEvent {
  tablet_seq: number;
  event_id: string;
  body: EventBody;
  payload: EventPayload;
  body_hash: string;
  state: "waiting" | "settled";
  /** The server's answer for this very event, once it came. */
  result: object | null;
  saved_at: string;
}

/** The events still held, waiting and settled; only those of some sequences where asked for. */
export async function readEvents(from_seq = 1, to_seq = Number.MAX_SAFE_INTEGER): Promise<StoredEvent[]> {
  if (from_seq > to_seq) return [];
  const ring = await readKeys();
  if (ring === null) return [];
  try {
    const rows = await (await outbox()).getAll("events", IDBKeyRange.bound(from_seq, to_seq));
    return await Promise.all(rows.map(async (row) => {
      const item = await openRow(ring.seal, row);
      return {
        tablet_seq: row.tablet_seq,
        event_id: row.event_id,
        body: JSON.parse(item.body) as EventBody,
        // What was erased has none; folds know that.
        payload: (item.salt === ERASED_SALT ? null : JSON.parse(item.payload)) as EventPayload,
        body_hash: hex(await sha256(utf8(item.body))),
        state: row.state,
        result: row.result,
        saved_at: row.saved_at,
      };
    }));
  } catch (problem) {
    throw asOutboxError(problem);
  }
}

/**
 * The first waiting events, at most `count`, as they travel. What was made under an earlier
 * enrolment keeps its texts, and is signed anew with the key that this tablet has now.
 */
export async function readWaiting(count: number): Promise<Item[]> {
  const [who, ring] = await Promise.all([identity(), readKeys()]);
  if (who === null || ring === null) throw new OutboxError("not_enrolled", "This tablet is not enrolled.");
  const rows = await (await outbox()).getAllFromIndex("events", "state", "waiting", count);
  return Promise.all(rows.map(async (row) => {
    const item = await openRow(ring.seal, row);
    const { tablet_id } = JSON.parse(item.body) as EventBody;
    return tablet_id === who.tablet_id ? item : { ...item, signature: base64url(await sign(ring, utf8(item.body))) };
  }));
}

/** The sequence that the first unsent event has, or the next one will have. */
export async function firstUnsent(): Promise<number> {
  const transaction = (await outbox()).transaction(["events", "writer"]);
  const [waiting, writer] = await Promise.all([
    transaction.objectStore("events").index("state").getAllKeys("waiting", 1), transaction.objectStore("writer").get("seq"),
  ]);
  return waiting[0] ?? writer?.next ?? 1;
}

/** The lowest and highest sequence held, and how many wait: of one moment. */
export async function heldRange(): Promise<{ first: number; last: number; waiting: number }> {
  const store = (await outbox()).transaction("events").store;
  const [first, last, waiting] = await Promise.all([
    store.getKey(IDBKeyRange.lowerBound(0)), store.openKeyCursor(null, "prev"), store.index("state").count("waiting"),
  ]);
  return { first: first ?? 0, last: last?.key ?? 0, waiting };
}

/** The ids of what waits, in order; nothing is decrypted for it. */
export async function waitingIds(): Promise<string[]> {
  const rows = await (await outbox()).getAllFromIndex("events", "state", "waiting");
  return rows.map((row) => row.event_id);
}

export async function countWaiting(): Promise<number> {
  return (await outbox()).countFromIndex("events", "state", "waiting");
}

export async function openRow(key: CryptoKey, row: EventRow): Promise<Item> {
  const opened = await unseal(key, eventPlace(row.tablet_seq, row.event_id), row);
  return (opened as { item: Item }).item;
}
