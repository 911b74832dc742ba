/** Which cases are open, and where work goes on: ids only, so that it may be known while the tablet is locked. */
import { computed, signal } from "@preact/signals";
import { getLive, putLive } from "../outbox/live";
import { isWriter } from "../outbox/writer";

export interface AtWork {
  open: string[];
  /** The case that was last on the screen, with its running pass. */
  last: { record_id: string; pass_id: string; number: number } | null;
}

export const atWork = signal<AtWork>({ open: [], last: null });
/** How many cases are open on this tablet. */
export const openCount = computed(() => atWork.value.open.length);

export async function loadAtWork(): Promise<void> {
  const kept = (await getLive("at-work").catch(() => null)) as AtWork | null;
  if (kept) atWork.value = kept;
}

export function noteOpen(record_ids: readonly string[]): void {
  const open = [...record_ids].sort();
  const { last } = atWork.value;
  note({ open, last: last && open.includes(last.record_id) ? last : null });
}

export function noteLast(last: AtWork["last"]): void {
  note({ ...atWork.value, last });
}

function note(next: AtWork): void {
  if (JSON.stringify(next) === JSON.stringify(atWork.value)) return;
  atWork.value = next;
  // Only a convenience of the lock screen: what happened is in the outbox, whether this is kept or not.
  if (isWriter()) putLive("at-work", next).catch(() => undefined);
}
