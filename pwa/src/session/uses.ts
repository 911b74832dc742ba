/** How often a handpiece or tip has been used: what the server counted, and own records it does not know yet. */
import { house } from "./house";
import type { RecordDocument } from "./fold";
import { eventsOf, ownRecords, startedMs, waitingRecords } from "./written";

/** Whether a record used a handpiece or tip, at its opening or in one of its passes. */
export const used = (record: RecordDocument, handpiece_id: string): boolean =>
  record.handpiece?.handpiece_id === handpiece_id
  || record.passes.some((pass) => pass.handpiece?.handpiece_id === handpiece_id);

/** Procedures that used it, but for the one named. */
export function usesOf(handpiece_id: string, but_for: string | null = null): number {
  const counted = house.value.uses[handpiece_id];
  const last_ms = counted?.last_used_at ? Date.parse(counted.last_used_at) : -Infinity;
  const waiting = new Set(waitingRecords());
  // The server's count holds a record once the entry that names the tip is there; so does its time of the last use.
  const unknown = (record: RecordDocument) => startedMs(record) > last_ms
    || (waiting.has(record.record_id) && eventsOf(record.record_id).some((e) => e.state === "waiting" && names(e.payload, handpiece_id)));
  let uses = counted?.uses ?? 0;
  for (const record of ownRecords.value) {
    if (record.status === "void" || !used(record, handpiece_id)) continue;
    if (record.record_id === but_for) uses -= unknown(record) ? 0 : 1;
    else if (unknown(record)) uses += 1;
  }
  return uses;
}

const names = (payload: Record<string, unknown>, handpiece_id: string): boolean =>
  (payload["handpiece"] as { handpiece_id?: string } | null | undefined)?.handpiece_id === handpiece_id;
