/**
 * Database `photographs`: the pictures that entries name by their hash, sealed, until the server has
 * them and a while longer; and certificates of lasers and meters, which go the same way. Apart from the outbox, whose schema is frozen and whose entries are small.
 * A second copy of each lies beside IndexedDB until the server has it.
 */

import { openDB, type DBSchema, type IDBPDatabase } from "idb";
import { copiedPictures, copyPicture, dropPictureCopy } from "../copy/pictures";
import { surroundings, type Bytes } from "../events/surroundings";
import { nowText, parseTime, rfc3339 } from "../events/times";
import { identity } from "../store/identity";
import { readKeys } from "../store/keys";
import { sealBytes, unsealBytes, type Sealed } from "../store/seal";
import { outbox } from "./database";
import { asOutboxError, OutboxError } from "./errors";
import { readEvents } from "./read";

export interface PhotographRow extends Sealed {
  sha256: string;
  /** The record; of a certificate, the work or the meter. */
  record_id: string;
  /** No photograph but a certificate, which the server keeps elsewhere. */
  certificate?: boolean;
  /** Of the entry that names it; null until that is saved. */
  tablet_seq: number | null;
  size_bytes: number;
  saved_at: string;
  state: "waiting" | "sent" | "refused";
  /** Its entry was taken back: nothing is sent while it is. */
  taken_back: boolean;
  failures: number;
  next_try_ms: number;
  /** The code with which the server refused it. */
  problem: string | null;
  /** How far the server's log went after it had the picture: a backup that goes further holds it. Null: not asked since. */
  there_by?: number | null;
}

/** A row without the picture. */
export type PhotographState = Omit<PhotographRow, "iv" | "sealed">;

interface Schema extends DBSchema {
  photographs: { key: string; value: PhotographRow; indexes: { record_id: string } };
}

/** So long a picture stays here at least, and after nothing has named it. */
const KEPT_MS = 7 * 86_400_000;
/** Longer than the offer to take back what was just done. */
const QUIET_MS = 15_000;
/** What AES-GCM adds. */
const TAG_BYTES = 16;
/** The server has the entry, whatever it thinks of it. */
const TAKEN = new Set(["applied", "duplicate", "conflict", "quarantined"]);

let opened: Promise<IDBPDatabase<Schema>> | null = null;

function database(): Promise<IDBPDatabase<Schema>> {
  opened ??= openDB<Schema>("photographs", 1, {
    upgrade(made) {
      made.createObjectStore("photographs", { keyPath: "sha256" }).createIndex("record_id", "record_id");
    },
    terminated: () => { opened = null; },
  }).catch((problem: unknown) => {
    opened = null;
    throw asOutboxError(problem);
  });
  return opened;
}

/** Close the database; the next use opens it again. */
export async function closePhotographs(): Promise<void> {
  const closing = opened;
  opened = null;
  (await closing?.catch(() => null))?.close();
}

/** Keep a picture, before any entry names it. Resolves only after the transaction is complete. */
export async function keepPhotograph(record_id: string, sha256: string, bytes: Bytes, certificate = false): Promise<void> {
  const ring = await readKeys();
  if (ring === null) throw new OutboxError("not_enrolled", "This tablet is not enrolled.");
  const who = await identity();
  const sealed = await sealBytes(ring.seal, placeOf(sha256), bytes);
  // Where there can be none, the picture is kept once only, and goes to the server all the same.
  if (who !== null) await copyPicture(who.tablet_id, { sha256, record_id, ...sealed });
  try {
    const row = fresh(sha256, record_id, bytes.length, nowText(), sealed);
    await putNew([certificate ? { ...row, certificate } : row]);
  } catch (problem) {
    if (who !== null) await dropPictureCopy(who.tablet_id, sha256, record_id);
    throw asOutboxError(problem);
  }
}

/** Take in what only the second copy holds: after a lost database that is everything. */
export async function bringBackPhotographs(): Promise<void> {
  const who = await identity();
  if (who === null) return;
  const known = new Set(await (await database()).getAllKeys("photographs"));
  const lost = await copiedPictures(who.tablet_id, known);
  if (lost.length === 0) return;
  await putNew(lost.map(({ sha256, record_id, saved_ms, iv, sealed }) =>
    fresh(sha256, record_id, sealed.byteLength - TAG_BYTES, rfc3339(saved_ms, 0), { iv, sealed })));
}

/** Find the entries of pictures that nothing names here: cut off between the two, or brought back. */
export async function nameUnnamed(): Promise<void> {
  const unnamed = new Set((await photographStates()).filter((row) => row.tablet_seq === null).map((row) => row.sha256));
  if (unnamed.size === 0) return;
  for (const { body, payload, tablet_seq } of await readEvents()) {
    for (const named of namedIn(body.type, payload)) {
      if (unnamed.has(named)) await change(named, { tablet_seq, ...(body.type === "attachment.added" ? {} : { certificate: true }) });
    }
  }
}

/** What an entry names by its hash, of which the bytes are kept apart. */
function namedIn(type: string, payload: unknown): string[] {
  const said = payload as { sha256?: unknown; certificates?: unknown } | null;
  const named = type === "attachment.added" ? [said?.sha256]
    : Array.isArray(said?.certificates) ? said.certificates.map((one: { sha256?: unknown } | null) => one?.sha256) : [];
  return named.filter((one): one is string => typeof one === "string");
}

/** Say which entry names a picture. */
export function namePhotograph(sha256: string, tablet_seq: number): Promise<void> {
  return change(sha256, { tablet_seq });
}

/** Say whether the entry that names a picture is taken back. */
export function takeBackPhotograph(sha256: string, taken_back: boolean): Promise<void> {
  return change(sha256, { taken_back });
}

/** Drop a picture that no entry names. */
export async function dropPhotograph(sha256: string): Promise<void> {
  const transaction = (await database()).transaction("photographs", "readwrite");
  const row = await transaction.store.get(sha256);
  if (row?.tablet_seq === null) await transaction.store.delete(sha256);
  await transaction.done;
  if (row?.tablet_seq === null) await dropCopies([row]);
}

/** Whether what is kept under a hash is a certificate. */
export async function isCertificate(sha256: string): Promise<boolean> {
  return (await (await database()).get("photographs", sha256))?.certificate === true;
}

/** What is known of the pictures of a record, or of all. */
export async function photographStates(record_id?: string): Promise<PhotographState[]> {
  const rows = record_id === undefined
    ? await (await database()).getAll("photographs")
    : await (await database()).getAllFromIndex("photographs", "record_id", record_id);
  return rows.map(({ iv: _iv, sealed: _sealed, ...state }) => state);
}

/** A picture, decrypted; null where it is not on this tablet. */
export async function photographBytes(sha256: string): Promise<Bytes | null> {
  const [row, ring] = await Promise.all([(await database()).get("photographs", sha256), readKeys()]);
  return row === undefined || ring === null ? null : unsealBytes(ring.seal, placeOf(sha256), row);
}

/** The hashes of the pictures to be sent now: their entries are on the server. */
export async function photographsDue(): Promise<string[]> {
  const now_ms = surroundings().now();
  const due: string[] = [];
  for (const row of await photographStates()) {
    const ripe = row.state === "waiting" && !row.taken_back && row.next_try_ms <= now_ms
      && now_ms - parseTime(row.saved_at) >= QUIET_MS;
    if (ripe && row.tablet_seq !== null && (await taken(row.tablet_seq))) due.push(row.sha256);
  }
  return due;
}

/** The server has it. */
export async function photographSent(sha256: string): Promise<void> {
  await change(sha256, { state: "sent", problem: null, there_by: null });
  await dropCopies((await photographStates()).filter((row) => row.sha256 === sha256));
}

/** The server does not take it, and will not another time. */
export function photographRefused(sha256: string, problem: string): Promise<void> {
  return change(sha256, { state: "refused", problem });
}

/** It did not arrive; `wait` [ms] by the number of failures so far. */
export async function photographFailed(sha256: string, wait: (failures: number) => number): Promise<void> {
  const row = await (await database()).get("photographs", sha256);
  if (row === undefined) return;
  await change(sha256, { failures: row.failures + 1, next_try_ms: surroundings().now() + wait(row.failures) });
}

/** After a restore the server may have lost them: what it has, it takes a second time without harm. */
export async function reofferPhotographs(): Promise<void> {
  const transaction = (await database()).transaction("photographs", "readwrite", { durability: "strict" });
  for (const row of await transaction.store.getAll()) {
    if (row.state === "sent") await transaction.store.put({ ...row, state: "waiting", failures: 0, next_try_ms: 0, there_by: null });
  }
  await transaction.done;
}

/** The hashes of the pictures that the server has, and of which it is not known by which entry of its log it had them. */
export async function photographsToPlace(): Promise<string[]> {
  return (await photographStates()).filter((row) => row.state === "sent" && row.there_by == null).map((row) => row.sha256);
}

/** Say how far the server's log went at a moment after it had these pictures. */
export async function placePhotographs(names: readonly string[], position: number): Promise<void> {
  for (const sha256 of names) await change(sha256, { there_by: position });
}

/**
 * Drop what is old, once it is inside a verified backup, and what was left without an entry; returns
 * how many. A picture comes to the server after its entry, so that the entry's own position says
 * nothing: only a backup that holds a later entry than the server had then holds the picture too.
 */
export async function dropOldPhotographs(durable_position: number | null): Promise<number> {
  const oldest_ms = surroundings().now() - KEPT_MS;
  const transaction = (await database()).transaction("photographs", "readwrite");
  const dropped: PhotographRow[] = [];
  for (const row of await transaction.store.getAll()) {
    const safe = row.state === "sent" && row.there_by != null && durable_position !== null && row.there_by < durable_position;
    const done = safe || row.taken_back || row.tablet_seq === null;
    if (done && parseTime(row.saved_at) < oldest_ms) {
      await transaction.store.delete(row.sha256);
      dropped.push(row);
    }
  }
  await transaction.done;
  await dropCopies(dropped);
  return dropped.length;
}

/** Drop pictures that were erased, whatever became of them here. */
export async function erasePhotographs(hashes: readonly string[]): Promise<void> {
  const transaction = (await database()).transaction("photographs", "readwrite", { durability: "strict" });
  const rows: PhotographRow[] = [];
  for (const sha256 of hashes) {
    const row = await transaction.store.get(sha256);
    if (row === undefined) continue;
    rows.push(row);
    await transaction.store.delete(sha256);
  }
  await transaction.done;
  await dropCopies(rows);
}

function fresh(sha256: string, record_id: string, size_bytes: number, saved_at: string, sealed: Sealed): PhotographRow {
  return {
    sha256, record_id, tablet_seq: null, size_bytes, saved_at, ...sealed,
    state: "waiting", taken_back: false, failures: 0, next_try_ms: 0, problem: null,
  };
}

async function putNew(rows: readonly PhotographRow[]): Promise<void> {
  const transaction = (await database()).transaction("photographs", "readwrite", { durability: "strict" });
  for (const row of rows) {
    // The same picture again is the same picture: what is known of it stays.
    if ((await transaction.store.getKey(row.sha256)) === undefined) await transaction.store.put(row);
  }
  await transaction.done;
}

async function dropCopies(rows: readonly Pick<PhotographRow, "sha256" | "record_id">[]): Promise<void> {
  const who = await identity();
  for (const { sha256, record_id } of who === null ? [] : rows) await dropPictureCopy(who!.tablet_id, sha256, record_id);
}

const placeOf = (sha256: string): string => `photograph|${sha256}`;

async function taken(tablet_seq: number): Promise<boolean> {
  const row = await (await outbox()).get("events", tablet_seq);
  // Dropped from the outbox: the server has had it for a long time.
  if (row === undefined) return true;
  return row.state === "settled" && TAKEN.has((row.result as { outcome?: string } | null)?.outcome ?? "");
}

async function change(sha256: string, changed: Partial<PhotographState>): Promise<void> {
  const transaction = (await database()).transaction("photographs", "readwrite", { durability: "strict" });
  const row = await transaction.store.get(sha256);
  if (row !== undefined) await transaction.store.put({ ...row, ...changed });
  await transaction.done;
}
