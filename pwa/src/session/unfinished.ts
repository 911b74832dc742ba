/** A record being put together, and what the fold must remember on the way. Mirror of `api/records/unfinished.py`. */

import { flag, type Entry, type Flag } from "./order";
import type { RecordDocument, Trace } from "./record";

export interface Unfinished {
  record: RecordDocument;
  flags: Flag[];
  opened: boolean;
  afterEnd: Set<string>;
  /** Who assists now; the record names everybody who did. */
  assisting: Set<string>;
  signedBy: { tablet_id: string; tablet_seq: number } | null;
}

/** Puts an entry into the record; answers whether it had an effect. */
export type Handler = (draft: Unfinished, entry: Entry) => boolean;

export const payloadOf = <T>(entry: Entry): T => entry.event.payload as unknown as T;

/** Note that something about `entry` is odd. */
export function note(draft: Unfinished, code: string, text: string, entry: Entry): void {
  draft.flags.push(flag(code, text, entry.event));
}

/** When an entry was first made, who wrote what holds, and which event that is. */
export function trace(entry: Entry): Trace {
  const { actor_id, event_id } = entry.event.body;
  // A later correction does not move what happened to a later moment.
  return { at: entry.first.body.occurred_at, by: actor_id, event_id };
}

/** Whether a handpiece is known to be another laser's. */
export function belongsElsewhere(
  handpiece: { device_id?: string | null | undefined } | null | undefined, device: { device_id?: string } | null | undefined,
): boolean {
  const ofHandpiece = handpiece?.device_id ?? null;
  const ofRecord = device?.device_id ?? null;
  return ofHandpiece !== null && ofRecord !== null && ofHandpiece !== ofRecord;
}
