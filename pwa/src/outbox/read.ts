/** Reading what this tablet has saved, decrypted and in the order it was made. */

import { hex, sha256, utf8 } from "../events/bytes";
import type { EventBody, EventPayload, Item } from "../events/build";
import { readKeys } from "../store/keys";
import { outbox, type EventRow } from "./database";
import { asOutboxError, OutboxError } from "./errors";
import { eventPlace, unseal } from "../store/seal";

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

/** Texts already decrypted: they never change, and a tap must not decrypt a month again. */
const known = new Map<string, { item: Item; body_hash: string }>();

/** Drop decrypted texts from memory, as locking must. */
export function forgetRead(): void {
  known.clear();
}

/** The events still held, waiting and settled; only those of some sequences where asked for. */
export async function readEvents(from_seq = 1, to_seq = Number.MAX_SAFE_INTEGER): Promise<StoredEvent[]> {
  if (from_seq > to_seq) return [];
  const ring = await readKeys();
  if (ring === null) return [];
  try {
    const rows = await (await outbox()).getAll("events", IDBKeyRange.bound(from_seq, to_seq));
    return await Promise.all(rows.map(async (row) => {
      const { item, body_hash } = known.get(row.event_id) ?? (await read(ring.seal, row));
      return {
        tablet_seq: row.tablet_seq,
        event_id: row.event_id,
        body: JSON.parse(item.body) as EventBody,
        payload: JSON.parse(item.payload) as EventPayload,
        body_hash,
        state: row.state,
        result: row.result,
        saved_at: row.saved_at,
      };
    }));
  } catch (problem) {
    throw asOutboxError(problem);
  }
}

/** The first waiting events, at most `count`, as they travel. */
export async function readWaiting(count: number): Promise<Item[]> {
  const ring = await readKeys();
  if (ring === null) throw new OutboxError("not_enrolled", "This tablet is not enrolled.");
  const rows = await (await outbox()).getAllFromIndex("events", "state", "waiting", count);
  return Promise.all(rows.map((row) => openRow(ring.seal, row)));
}

/** How many events are held, and the lowest and highest sequence among them. */
export async function heldRange(): Promise<{ count: number; first: number; last: number }> {
  const store = (await outbox()).transaction("events").store;
  const [count, first, last] = await Promise.all([store.count(), store.getKey(IDBKeyRange.lowerBound(0)), store.openKeyCursor(null, "prev")]);
  return { count, first: first ?? 0, last: last?.key ?? 0 };
}

export async function countWaiting(): Promise<number> {
  return (await outbox()).countFromIndex("events", "state", "waiting");
}

async function read(key: CryptoKey, row: EventRow): Promise<{ item: Item; body_hash: string }> {
  const item = await openRow(key, row);
  const opened = { item, body_hash: hex(await sha256(utf8(item.body))) };
  known.set(row.event_id, opened);
  return opened;
}

async function openRow(key: CryptoKey, row: EventRow): Promise<Item> {
  const opened = await unseal(key, eventPlace(row.tablet_seq, row.event_id), row);
  return (opened as { item: Item }).item;
}
