/** Documents pulled from the server: the house in clear, records sealed under the view key. */

import { copyIsOpen, copyWhole } from "../copy/copy";
import { surroundings } from "../events/surroundings";
import { house, type ChainRow, type DocumentRow, type Identity, type RecordRow, type Restored } from "./house";
import { contact, offlineTooLong } from "./identity";
import { openRecords, sealRecords } from "./view";

export type Feed = "house" | "records";

/** A document of a pulled page; a null body says that it is gone. */
export interface PulledDocument { kind: string; doc_id: string; position: number; body: object | null }

/** Which documents a page changed. */
export type Changed = readonly { kind: string; doc_id: string; gone: boolean }[];

/** How old the contact in the second copy may become. */
const COPY_AGAIN_MS = 3_600_000;

let copied_ms = 0;
const listeners = new Set<(changed: Changed) => void>();

/** Be told which documents have changed; returns the function that ends it. */
export function onDocuments(listener: (changed: Changed) => void): () => void {
  listeners.add(listener);
  return () => listeners.delete(listener);
}

/** All documents of one kind. Records come back empty after too long without the server. */
export async function documents<T extends object = object>(kind: string): Promise<T[]> {
  if (kind === "record") return (await records()) as T[];
  const range = IDBKeyRange.bound(["house", kind, ""], ["house", kind, "\uffff"]);
  return (await (await house()).getAll("documents", range)).map((row) => row.body as T);
}

async function records(): Promise<object[]> {
  const found: object[] = [];
  for await (const some of recordPages()) found.push(...some);
  return found;
}

const RECORDS_A_PAGE = 25;

/** All records, some at a time, so that a screen can be drawn between; empty after too long without the server. */
export async function* recordPages(): AsyncGenerator<object[]> {
  if (await offlineTooLong()) return;
  let after: string | null = null;
  for (;;) {
    const range = after === null ? null : IDBKeyRange.lowerBound(after, true);
    const rows: RecordRow[] = await (await house()).getAll("records", range, RECORDS_A_PAGE);
    if (rows.length === 0) return;
    yield await openRecords(rows);
    after = rows[rows.length - 1]!.doc_id;
  }
}

/** The records named, as far as they are here. */
export async function recordsNamed(doc_ids: readonly string[]): Promise<object[]> {
  if (doc_ids.length === 0 || (await offlineTooLong())) return [];
  const store = (await house()).transaction("records").store;
  const rows = await Promise.all(doc_ids.map((doc_id) => store.get(doc_id)));
  return openRecords(rows.filter((row) => row !== undefined));
}

/**
 * Store one pulled page with its cursor, and for the house feed the chain, in one transaction.
 * Answers false, and stores nothing, for records that came after the tablet was locked. With the
 * `last` page after a restore, what is left of the log that was cut away goes.
 */
export async function storePage(
  feed: Feed, page: readonly PulledDocument[], cursor: string, walked: ChainRow | null, last = true,
): Promise<boolean> {
  const sealed = feed === "records" ? await sealRecords(page) : [];
  if (sealed === null) return false;
  const transaction = (await house()).transaction(["documents", "records", "cursor", "chain"], "readwrite");
  const known = walked ?? (await transaction.objectStore("chain").get("chain")) ?? null;
  const epoch = known?.epoch ?? "";
  const sweep = last && known?.stale?.includes(feed) === true;
  const chain = sweep ? { ...known, stale: known.stale?.filter((one) => one !== feed) ?? [] } : walked;
  const work: Promise<unknown>[] = [transaction.objectStore("cursor").put({ cursor }, feed)];
  for (const row of sealed) work.push(transaction.objectStore("records").put({ ...row, epoch }));
  for (const document of page) {
    if (document.body === null && feed === "records") {
      work.push(transaction.objectStore("records").delete(document.doc_id));
    } else if (document.body === null) {
      work.push(transaction.objectStore("documents").delete([feed, document.kind, document.doc_id]));
    } else if (feed === "house") {
      work.push(transaction.objectStore("documents").put({ ...document, feed, body: document.body, epoch } as DocumentRow));
    }
  }
  if (chain !== null) work.push(transaction.objectStore("chain").put(chain, "chain"));
  const left = sweep ? await swept(transaction.objectStore(feed === "house" ? "documents" : "records"), epoch) : [];
  await Promise.all([...work, transaction.done]);
  if (feed === "house") await keepHouse(page.length > 0 || left.length > 0);
  const changed = [...page.map(({ kind, doc_id, body }) => ({ kind, doc_id, gone: body === null })), ...left];
  if (changed.length > 0) for (const listener of listeners) listener(changed);
  return true;
}

/** Drop records that are older than their erasure, before the server says what is left of them. */
export async function dropRecords(erased: readonly { record_id: string; position: number }[]): Promise<void> {
  const transaction = (await house()).transaction("records", "readwrite", { durability: "strict" });
  const dropped: string[] = [];
  for (const { record_id, position } of erased) {
    const row = await transaction.store.get(record_id);
    if (row === undefined || row.position >= position) continue;
    await transaction.store.delete(record_id);
    dropped.push(record_id);
  }
  await transaction.done;
  if (dropped.length === 0) return;
  for (const listener of listeners) listener(dropped.map((doc_id) => ({ kind: "record", doc_id, gone: true })));
}

/** Keep the house in the second copy too, so that a tablet that lost its storage is of use offline. */
async function keepHouse(changed: boolean): Promise<void> {
  const now = surroundings().now();
  if (!copyIsOpen() || (!changed && now - copied_ms < COPY_AGAIN_MS)) return;
  copied_ms = now;
  const rows = await (await house()).getAll("documents");
  // Worth no notice: the server sends it all again.
  await copyWhole("house", [{ contact: await contact() }, ...rows]).catch(() => undefined);
}

export async function cursorOf(feed: Feed): Promise<string | null> {
  return (await (await house()).get("cursor", feed))?.cursor ?? null;
}

export async function chain(): Promise<ChainRow | null> {
  return (await (await house()).get("chain", "chain")) ?? null;
}

interface Rows {
  openCursor(): Promise<{ value: DocumentRow | RecordRow; delete(): Promise<unknown>; continue(): Promise<unknown> } | null>;
}

/** Delete what the restored log did not bring again. */
async function swept(rows: unknown, epoch: string): Promise<{ kind: string; doc_id: string; gone: boolean }[]> {
  const gone: { kind: string; doc_id: string; gone: boolean }[] = [];
  let cursor = await (rows as Rows).openCursor();
  while (cursor !== null) {
    const { kind, doc_id, epoch: of } = cursor.value;
    if (of !== epoch) {
      gone.push({ kind, doc_id, gone: true });
      await cursor.delete();
    }
    cursor = (await cursor.continue()) as typeof cursor;
  }
  return gone;
}

/** Go over to another epoch of the log: everything is pulled again, and shown meanwhile as it was. */
export async function goOnIn(epoch: string, walk: ChainRow, restored: Restored): Promise<void> {
  const transaction = (await house()).transaction(["identity", "cursor", "chain"], "readwrite", { durability: "strict" });
  const identities = transaction.objectStore("identity");
  const who = (await identities.get("tablet")) as Identity;
  await Promise.all([
    identities.put({ ...who, epoch }, "tablet"),
    identities.put(restored, "restored"),
    transaction.objectStore("cursor").clear(),
    transaction.objectStore("chain").put(walk, "chain"),
    transaction.done,
  ]);
}

/** The last restore that somebody here has not put away; null where there is none. */
export async function restored(): Promise<Restored | null> {
  return ((await (await house()).get("identity", "restored")) as Restored | undefined) ?? null;
}

export async function putRestoredAway(): Promise<void> {
  await (await house()).delete("identity", "restored");
}
