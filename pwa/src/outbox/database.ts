/**
 * Database `outbox`. Its schema is frozen for ever: an older app must always be able to read what a
 * newer one left unsent, and the other way round.
 */

import { openDB, type DBSchema, type IDBPDatabase, type IDBPTransaction, type StoreNames } from "idb";
import type { Bytes } from "../events/surroundings";
import { asOutboxError } from "./errors";

export interface EventRow {
  tablet_seq: number;
  event_id: string;
  saved_at: string;
  iv: Bytes;
  sealed: ArrayBuffer;
  state: "waiting" | "settled";
  result: object | null;
}

export interface LiveRow { iv: Bytes; sealed: ArrayBuffer }

export interface OutboxSchema extends DBSchema {
  events: { key: number; value: EventRow; indexes: { state: string } };
  writer: { key: string; value: { next: number } };
  live: { key: string; value: LiveRow };
}

export type OutboxDatabase = IDBPDatabase<OutboxSchema>;
type Stores = StoreNames<OutboxSchema>;

let opened: Promise<OutboxDatabase> | null = null;

/** The open database; opened again after the browser closed it. */
export function outbox(): Promise<OutboxDatabase> {
  opened ??= openDB<OutboxSchema>("outbox", 1, {
    upgrade(database) {
      database.createObjectStore("events", { keyPath: "tablet_seq" }).createIndex("state", "state");
      database.createObjectStore("writer");
      database.createObjectStore("live");
    },
    terminated: () => { opened = null; },
  }).catch((problem: unknown) => {
    opened = null;
    throw asOutboxError(problem);
  });
  return opened;
}

/** Close the database; the next use opens it again. */
export async function closeOutbox(): Promise<void> {
  const closing = opened;
  opened = null;
  (await closing?.catch(() => null))?.close();
}

/**
 * Begin a transaction that reaches the disk before it completes.
 *
 * A handle that died while the app slept is opened again, once: nothing was written through it yet.
 */
export async function strictly<Names extends Stores[]>(
  stores: [...Names],
): Promise<IDBPTransaction<OutboxSchema, [...Names], "readwrite">> {
  try {
    return (await outbox()).transaction(stores, "readwrite", { durability: "strict" });
  } catch (problem) {
    if (!(problem instanceof Error) || problem.name !== "InvalidStateError") throw asOutboxError(problem);
    await closeOutbox();
    return (await outbox()).transaction(stores, "readwrite", { durability: "strict" });
  }
}
