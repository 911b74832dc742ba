/** What a clinician may say about a record as a whole: it is signed, added to, moved, void. */

import type { Patient } from "../events/catalogue";
import type { EventDraft } from "../events/build";
import { Refused, write } from "./commands";
import { contentHashOf, type HistoryLine, type RecordDocument } from "./fold";
import { signerRole } from "./signing";
import { person } from "./state";

const ABOUT_THE_WHOLE = ["record.addended", "record.placed_in_chart", "record.removed_from_chart", "record.reattributed", "record.voided"];

/** The body hashes a signature made now covers, in order; null for a copy that does not have them all. */
export function coveredHashes(history: readonly HistoryLine[]): string[] | null {
  const types = new Map(history.map((line) => [line.event_id, line.type]));
  const about = (line: HistoryLine): boolean => ABOUT_THE_WHOLE.includes(
    line.type === "entry.withdrawn" ? types.get(line.corrects ?? "") ?? "" : line.type);
  const hashes = history.filter((line) => !about(line)).map((line) => line.body_hash);
  return hashes.every(Boolean) ? hashes : null;
}

/**
 * Sign records, all or none: each gets its own signature over its own content.
 *
 * `statementOf` is what is signed for each of them.
 */
export async function signRecords(records: readonly RecordDocument[], statementOf: (record: RecordDocument) => string): Promise<void> {
  const signer_id = mustBeClinician();
  const drafts: EventDraft[] = [];
  for (const record of records) {
    if (record.status !== "ended") throw new Refused("not_ended", "End the procedure before it is signed.");
    const hashes = coveredHashes(record.history);
    // A copy that does not say what its entries hash to cannot be signed from here.
    if (hashes === null) throw new Refused("elsewhere", "Sign on the tablet that recorded the procedure.");
    drafts.push({
      type: "record.signed",
      entity_id: record.record_id,
      payload: { signer_id, role: signerRole(record, signer_id), content_hash: await contentHashOf(hashes), statement: statementOf(record) },
    });
  }
  await write(drafts);
}

export async function addAddendum(record: RecordDocument, text: string, reason: string): Promise<void> {
  mustBeClinician();
  if (record.sign_off === null || record.voided !== null) throw new Refused("not_signed", "Addenda belong to signed records.");
  await write([{ type: "record.addended", entity_id: record.record_id, payload: { text, reason } }]);
}

/** Move a record to the chart of the patient it belongs to. */
export async function moveRecord(record: RecordDocument, to: Patient, reason: string): Promise<void> {
  mustBeClinician();
  const from = record.patient;
  if (from === null || record.voided !== null) throw new Refused("not_movable", "This record cannot be moved.");
  if (samePatient(from, to)) throw new Refused("same_patient", "That is the patient it already belongs to.");
  await write([{
    type: "record.reattributed", entity_id: record.record_id,
    payload: { from: { chart_number: from.chart_number, second_identifier: from.second_identifier }, to, reason },
  }]);
}

/** Say that a record does not hold; everything in it stays. */
export async function voidRecord(record: RecordDocument, reason: string): Promise<void> {
  mustBeClinician();
  if (record.voided !== null) throw new Refused("void", "This record is void already.");
  await write([{ type: "record.voided", entity_id: record.record_id, payload: { reason } }]);
}

export const samePatient = (a: Patient, b: Patient): boolean =>
  a.chart_number === b.chart_number && a.second_identifier === b.second_identifier;

function mustBeClinician(): string {
  const who = person.value;
  if (!who?.roles.includes("clinician")) throw new Refused("not_clinician", "Only a clinician does this.");
  return who.person_id;
}
