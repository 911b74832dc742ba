/**
 * Letting go of entries that the practice has erased: here, in the second copy, and of their
 * pictures. Done again it does no harm, so a kill in between costs nothing: the next start does it.
 *
 * What stays is who made an entry and when, signed: after a restore, be it from an older backup than
 * the last, the server takes this tablet's entries in their order, and would wait for ever for one
 * that is missing in the middle. It goes with all the others, once it is old (`settle.ts`).
 */

import { copyIsOpen, eraseCopied, type CopiedRow } from "../copy/copy";
import { copyPlace } from "../copy/files";
import { eventPlace, seal } from "../store/seal";
import { identity } from "../store/identity";
import { readKeys } from "../store/keys";
import { betweenSaves } from "./append";
import { strictly, outbox, type EventRow } from "./database";
import { erasePhotographs } from "./photographs";
import { ERASED_SALT, openRow, readEvents } from "./read";
import { tellErased } from "./settle";

/**
 * Let go of these entries and pictures. Answers whether the second copy was reached as well: only
 * the page that writes has it.
 */
export function eraseHeld(event_ids: readonly string[], photographs: readonly string[]): Promise<boolean> {
  const wanted = new Set(event_ids);
  return betweenSaves(async () => {
    const who = await identity();
    if (who === null) return true;
    const rows = (await (await outbox()).getAll("events")).filter((row) => wanted.has(row.event_id));
    const emptied = await Promise.all(rows.map(empty));
    const transaction = await strictly(["events"]);
    transaction.done.catch(() => undefined);
    for (const row of emptied) void transaction.store.put(row);
    await transaction.done;
    const named = photographs.length === 0 ? new Set() : await namedStill();
    await erasePhotographs(photographs.filter((sha256) => !named.has(sha256)));
    if (rows.length > 0) tellErased(rows.map((row) => row.tablet_seq));
    if (!copyIsOpen()) return !(await copyPlace().list()).includes(who.tablet_id);
    await eraseCopied(who.tablet_id, wanted, new Map(emptied.map((row) => [row.event_id, bare(row)])));
    return true;
  });
}

/** The pictures that entries still held here name: of another record the server may not know it yet. */
async function namedStill(): Promise<Set<unknown>> {
  const added = (await readEvents()).filter(({ body }) => body.type === "attachment.added");
  return new Set(added.map(({ payload }) => (payload as { sha256?: unknown } | null)?.sha256));
}

/** The entry without its content, sealed anew. */
async function empty(row: EventRow): Promise<EventRow> {
  const ring = await readKeys();
  if (ring === null) throw new DOMException("no keys", "InvalidStateError");
  const item = await openRow(ring.seal, row);
  if (item.salt === ERASED_SALT) return row;
  const { entity_id: record_id } = JSON.parse(item.body) as { entity_id: string };
  const left = { item: { ...item, payload: "{}", salt: ERASED_SALT }, record_id };
  return { ...row, ...(await seal(ring.seal, eventPlace(row.tablet_seq, row.event_id), left)) };
}

const bare = ({ tablet_seq, event_id, saved_at, iv, sealed }: EventRow): CopiedRow =>
  ({ tablet_seq, event_id, saved_at, iv, sealed });
