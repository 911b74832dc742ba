/** How often a handpiece or tip has been used: what the server counted, and own records it does not know yet. */
import { house } from "./house";
import type { RecordDocument } from "./fold";
import { eventsOf, ownRecords } from "./written";

/** Whether a record used a handpiece or tip, at its opening or in one of its passes. */
export const used = (record: RecordDocument, handpiece_id: string): boolean =>
  record.handpiece?.handpiece_id === handpiece_id
  || record.passes.some((pass) => pass.handpiece?.handpiece_id === handpiece_id);

/** Procedures that used it, but for the one named. */
export function usesOf(handpiece_id: string, but_for: string | null = null): number {
  const counted = house.value.uses[handpiece_id];
  const last_ms = counted?.last_used_at ? Date.parse(counted.last_used_at) : -Infinity;
  // The server's count holds a record once its entries are there, and so does the time of the last one.
  const here = ownRecords.value.filter((record) => record.status !== "void" && used(record, handpiece_id));
  const unknown = here.filter((record) => record.record_id !== but_for
    && (eventsOf(record.record_id).some((e) => e.state === "waiting" && names(e.payload, handpiece_id)) || Date.parse(record.started_at ?? "") > last_ms));
  const named = here.find((record) => record.record_id === but_for);
  const holdsNamed = named !== undefined && Date.parse(named.started_at ?? "") <= last_ms
    && !eventsOf(named.record_id).some((e) => e.state === "waiting" && names(e.payload, handpiece_id));
  return (counted?.uses ?? 0) + unknown.length - (holdsNamed ? 1 : 0);
}

const names = (payload: Record<string, unknown>, handpiece_id: string): boolean =>
  (payload["handpiece"] as { handpiece_id?: string } | null | undefined)?.handpiece_id === handpiece_id;
