/**
 * The view key: it seals the records that the server sent. It lies on this tablet only under the
 * PINs of those who may read records, and is in memory only while one of them is signed in.
 */

import type { Bytes } from "../events/surroundings";
import { house, type RecordRow } from "./house";
import { readKeys } from "./keys";
import { seal, sealBytes, unseal, unsealBytes } from "./seal";

let key: CryptoKey | null = null;

/** Take the key [32 bytes] that a PIN or the server has given; null for whoever may read no records. */
export async function openView(bytes: Bytes | null): Promise<void> {
  key = bytes === null ? null : await crypto.subtle.importKey("raw", bytes, "AES-GCM", false, ["encrypt", "decrypt"]);
}

/** Drop the key: what it sealed cannot be read until a PIN is given again. */
export function closeView(): void {
  key = null;
}

export const viewIsOpen = (): boolean => key !== null;

/** Seal records as they came; null where the view was closed meanwhile. */
export async function sealRecords(
  page: readonly { doc_id: string; kind: string; position: number; body: object | null }[],
): Promise<RecordRow[] | null> {
  const mine = key;
  if (mine === null) return null;
  const present = page.filter((document) => document.body !== null);
  return Promise.all(present.map(async ({ doc_id, kind, position, body }): Promise<RecordRow> =>
    ({ doc_id, kind, position, ...(await seal(mine, doc_id, body)), under: "view" })));
}

/** The records of rows; those that no key at hand opens are passed over. */
export async function openRecords(rows: readonly RecordRow[]): Promise<object[]> {
  const mine = key;
  // Until all rows of an older version are moved, their key is still here.
  const old = rows.some((row) => row.under !== "view") ? (await readKeys())?.records : undefined;
  const opened = await Promise.all(rows.map((row) => {
    const its = row.under === "view" ? mine : old;
    return its ? unseal(its, row.doc_id, row).catch(() => null) : null;
  }));
  // Locked while this was read: nothing that was decrypted is handed on.
  return mine === key ? opened.filter((record): record is object => record !== null) : [];
}

/** Where the server has given another key than before, drop what it does not open, to be sent again. */
export async function keepWhatOpens(): Promise<void> {
  const mine = key;
  if (mine === null) return;
  let cursor = await (await house()).transaction("records").store.openCursor();
  while (cursor !== null && cursor.value.under !== "view") cursor = await cursor.continue();
  if (cursor === null) return;
  const { value: row } = cursor;
  if (await unseal(mine, row.doc_id, row).then(() => true, () => false)) return;
  const transaction = (await house()).transaction(["records", "cursor"], "readwrite");
  await Promise.all([
    transaction.objectStore("records").clear(), transaction.objectStore("cursor").delete("records"), transaction.done,
  ]);
}

const ROWS_AT_ONCE = 50;

/**
 * Seal anew what an older version kept: the key of its rows lay beside them. That key goes once
 * they are all moved; cut off in between, this goes on at the next sign-in.
 */
export async function moveOldRows(): Promise<void> {
  const mine = key;
  const ring = await readKeys();
  const old = ring?.records;
  if (mine === null || old === undefined) return;
  let after = "";
  for (;;) {
    const rows = await (await house()).getAll("records", IDBKeyRange.lowerBound(after, true), ROWS_AT_ONCE);
    if (rows.length === 0) break;
    after = rows.at(-1)!.doc_id;
    const moved = await Promise.all(rows.filter((row) => row.under !== "view").map(async (row): Promise<RecordRow> =>
      ({ ...row, ...(await sealBytes(mine, row.doc_id, await unsealBytes(old, row.doc_id, row))), under: "view" })));
    const transaction = (await house()).transaction("records", "readwrite", { durability: "strict" });
    for (const row of moved) {
      const now = await transaction.store.get(row.doc_id);
      // A pull may have brought a newer one, or taken it away, meanwhile.
      if (now !== undefined && now.under !== "view") await transaction.store.put(row);
    }
    await transaction.done;
  }
  const { records: _gone, ...kept } = ring!;
  await (await house()).put("keys", kept, "ring");
}
