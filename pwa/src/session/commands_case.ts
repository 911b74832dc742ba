/** What happens in a case beside its passes: pauses, hand-over, protection, and putting entries right. */
import type { OperatorAccepted, ProtectionNoted } from "../events/catalogue";
import { mustBeOpen, Refused, withdraw, write } from "./commands";
import { firstOf, type RecordDocument } from "./fold";
import { eventsOf } from "./written";

/** Whether entries of a record may still be put right: until it is signed. */
export const unsigned = (record: RecordDocument): boolean => record.status === "draft" || record.status === "ended";

/** The pause that has not ended yet. */
export function openPause(record: RecordDocument): RecordDocument["pauses"][number] | null {
  const last = record.pauses[record.pauses.length - 1];
  return last && last.to_at === null ? last : null;
}

export async function pauseCase(record: RecordDocument, reason: string | null): Promise<string> {
  mustBeOpen(record);
  return (await write([{ type: "procedure.paused", entity_id: record.record_id, payload: { reason } }]))[0]!;
}

export async function resumeCase(record: RecordDocument): Promise<void> {
  mustBeOpen(record);
  if (!openPause(record)) throw new Refused("not_paused", "This case is not paused.");
  await write([{ type: "procedure.resumed", entity_id: record.record_id, payload: {} }]);
}

export type Role = "operator" | "assistant" | "recorder";

/** Somebody else takes a part over; the record says from whom to whom, and when. */
export async function handOver(
  record: RecordDocument, role: Role, from_id: string, to_id: string, note: string | null, accepted: OperatorAccepted | null = null,
): Promise<string> {
  mustBeOpen(record);
  if (from_id === to_id) throw new Refused("same_person", "This is the same person.");
  return (await write([
    { type: "procedure.handed_over", entity_id: record.record_id, payload: { from_id, to_id, role, note } },
    ...(accepted ? [{ type: "operator.accepted", entity_id: record.record_id, payload: accepted }] : []),
  ]))[0]!;
}

export async function noteProtection(record: RecordDocument, said: ProtectionNoted): Promise<string> {
  mustBeOpen(record);
  return (await write([{ type: "protection.noted", entity_id: record.record_id, payload: said }]))[0]!;
}

/** Say again what an entry says; both stay in the history. `event_id` is the one that holds now; answers the new one. */
export async function correct(record: RecordDocument, event_id: string, type: string, payload: object): Promise<string> {
  if (!unsigned(record)) throw new Refused("signed", "A signed record is never changed; add an addendum.");
  if (!record.history.some((line) => line.event_id === event_id && line.effective)) {
    throw new Refused("not_effective", "This entry has been replaced or taken back already.");
  }
  return (await write([{ type, entity_id: record.record_id, corrects: event_id, payload }]))[0]!;
}

/** Take an entry back with a reason; with it goes what corrected it. Answers the event that says so. */
export async function takeBack(record: RecordDocument, event_id: string, reason: string): Promise<string> {
  if (!unsigned(record)) throw new Refused("signed", "A signed record is never changed; add an addendum.");
  return withdraw(record.record_id, firstOf(record.history, event_id), reason);
}

/** What an entry made on this tablet says; null for one that was made elsewhere. */
export function payloadOf<T>(record_id: string, event_id: string): T | null {
  return (eventsOf(record_id).find((e) => e.event_id === event_id)?.payload as T | undefined) ?? null;
}
