/** What a signer has to know before signing, and which records were read in this sitting. */

import { computed, signal } from "@preact/signals";
import { lateness, type ListKind } from "./lists";
import type { RecordDocument } from "./record";
import { person, unsigned } from "./state";

export type OpenPoint =
  | { code: "time_out" | "no_passes" | "not_ended" | "no_protection" }
  | { code: "no_answers"; count: number }
  | { code: "list_missing" | "list_late"; kind: ListKind }
  | { code: "no_time"; passes: number[] }
  | { code: "flag"; flag: RecordDocument["flags"][number] };

/**
 * What is still open or odd about a record: said before the signature, and in it. Pure.
 *
 * A list that was not answered is missing only where one of its kind is in force.
 */
export function openPoints(record: RecordDocument, inForce: (kind: ListKind) => boolean): OpenPoint[] {
  const points: OpenPoint[] = [];
  if (record.status === "draft") points.push({ code: "not_ended" });
  if (record.time_out === null) points.push({ code: "time_out" });
  const noes = (record.time_out?.answers ?? []).filter((one) => one.answer === "no").length;
  if (noes > 0) points.push({ code: "no_answers", count: noes });
  for (const { kind, state } of lateness(record)) {
    // A time-out that is missing has been said already.
    if (kind === "time_out" && record.time_out === null) continue;
    if (state === "not answered" && inForce(kind)) points.push({ code: "list_missing", kind });
    if (state === "late") points.push({ code: "list_late", kind });
  }
  if (record.protection === null) points.push({ code: "no_protection" });
  if (record.passes.length === 0) points.push({ code: "no_passes" });
  const silent = record.passes.filter((pass) => pass.laser_on.length === 0).map((pass) => pass.number);
  if (silent.length > 0) points.push({ code: "no_time", passes: silent });
  return [...points, ...record.flags.map((flag) => ({ code: "flag" as const, flag }))];
}

export type SignerRole = "operator" | "supervising dentist" | "clinician";

/** As what somebody signs: the one who operated, the one who supervised, or another clinician. */
export function signerRole(record: Pick<RecordDocument, "operator_id" | "supervising_id">, signer_id: string): SignerRole {
  if (record.operator_id === signer_id) return "operator";
  return record.supervising_id === signer_id ? "supervising dentist" : "clinician";
}

/** Ended and unsigned records, those that are the reader's own to sign first. */
export const toSign = computed<RecordDocument[]>(() => {
  const mine = person.value?.person_id ?? "";
  const own = (record: RecordDocument): number => (signerRole(record, mine) === "clinician" ? 1 : 0);
  return [...unsigned.value].sort((a, b) => own(a) - own(b) || Date.parse(a.ended_at ?? "") - Date.parse(b.ended_at ?? ""));
});

/** Those of them that are the reader's own, as operator or supervising. */
export const ownToSign = computed(() => toSign.value.filter((record) => signerRole(record, person.value?.person_id ?? "") !== "clinician"));

/** What somebody has in front of them when reading a record: any further entry makes it another. */
export const stateOf = (record: RecordDocument): string => `${record.history.length}:${record.history[record.history.length - 1]?.event_id ?? ""}`;

/** What was read, by whom: a further entry, or another reader, finds the record unread. Ids only, gone with the page. */
const read = signal<ReadonlyMap<string, string>>(new Map());
const placeOf = (record: RecordDocument): string => `${person.value?.person_id ?? ""}|${record.record_id}`;

export const isRead = (record: RecordDocument): boolean => read.value.get(placeOf(record)) === stateOf(record);

export function markRead(record: RecordDocument): void {
  read.value = new Map(read.value).set(placeOf(record), stateOf(record));
}
