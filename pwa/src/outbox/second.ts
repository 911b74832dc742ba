/** Keeping the second copy and the outbox in step, whichever of the two a crash has left behind. */

import { copyIsOpen, copyRows, copyTakenBack, copyWhole, lastCopied, openCopy, readCopy, readWhole } from "../copy/copy";
import { clearAttention, identity, raiseAttention } from "../store/identity";
import { outbox, strictly, type EventRow, type LiveRow } from "./database";

const BEHIND = "second_copy_behind";
/** Entries in one line, so that a line stays small enough to be read at the end of the file. */
const ROWS_A_LINE = 20;

let behind = false;

/** Open this tablet's copy, in the page that writes; then take over what either of them lacks. */
export async function openSecond(): Promise<void> {
  const who = await identity();
  if (who === null || !(await openCopy(who.tablet_id))) return;
  try {
    await mend(who.tablet_id);
  } catch {
    await fellBehind();
  }
}

/**
 * Write entries to the second copy before the outbox may call them saved. Where that fails, saving
 * goes on in the outbox alone, somebody is told, and the next save tries to catch up.
 */
export async function keepFirst(rows: readonly EventRow[]): Promise<void> {
  if (!copyIsOpen()) return;
  try {
    if (behind) {
      const who = await identity();
      if (who !== null) await mend(who.tablet_id);
    }
    await copyRows(rows.map(bare));
    if (behind) await clearAttention([BEHIND]);
    behind = false;
  } catch {
    await fellBehind();
  }
}

/** The outbox did not take them: say so in the copy, or the next start would bring them back. */
export async function takeBack(from_seq: number): Promise<void> {
  if (copyIsOpen()) await copyTakenBack(from_seq).catch(fellBehind);
}

let keeping: Promise<void> | null = null;
let again = false;

/**
 * Keep what is no event yet beside the entries, soon: nobody who types waits for it, and of several
 * changes in a row the last one counts.
 */
export function keepLive(): void {
  if (!copyIsOpen()) return;
  again = true;
  keeping ??= (async () => {
    while (again) {
      again = false;
      await writeLive();
    }
  })().finally(() => { keeping = null; });
}

/** Resolves when what was put is kept in the copy as well (tests). */
export const liveKept = async (): Promise<void> => { await keeping; };

async function writeLive(): Promise<void> {
  try {
    const database = await outbox();
    const [keys, values] = await Promise.all([database.getAllKeys("live"), database.getAll("live")]);
    await copyWhole("live", values.map((row, at) => ({ key: keys[at], ...row })));
  } catch {
    // Worth no notice: it is a draft, and the outbox holds it.
  }
}

async function mend(tablet_id: string): Promise<void> {
  const database = await outbox();
  const next = (await database.get("writer", "seq"))?.next ?? 1;
  const copied = await lastCopied(tablet_id);
  if (copied >= next) await adopt(tablet_id, next, copied);
  for (let from = copied + 1; from < next; from += ROWS_A_LINE) {
    const range = IDBKeyRange.bound(from, Math.min(from + ROWS_A_LINE, next) - 1);
    const missing = await database.getAll("events", range);
    if (missing.length > 0) await copyRows(missing.map(bare));
  }
}

/** Take into the outbox what only the copy holds: after a lost database that is everything. */
async function adopt(tablet_id: string, from: number, last: number): Promise<void> {
  const copy = await readCopy(tablet_id);
  const live = from === 1 ? await readWhole(tablet_id, "live") : [];
  const transaction = await strictly(["events", "writer", "live"]);
  for (const row of copy?.rows ?? []) {
    // Sent again where it was sent before: to the server that is a duplicate, and does no harm.
    if (row.tablet_seq >= from) void transaction.objectStore("events").put({ ...row, state: "waiting", result: null });
  }
  for (const { key, ...row } of live as (LiveRow & { key: string })[]) {
    void transaction.objectStore("live").put(row, key);
  }
  void transaction.objectStore("writer").put({ next: last + 1 }, "seq");
  await transaction.done;
}

const bare = ({ tablet_seq, event_id, saved_at, iv, sealed }: EventRow) =>
  ({ tablet_seq, event_id, saved_at, iv, sealed });

async function fellBehind(): Promise<void> {
  behind = true;
  await raiseAttention(BEHIND, "The second copy on this tablet cannot be written. Entries are saved once only.", false)
    .catch(() => undefined);
}
