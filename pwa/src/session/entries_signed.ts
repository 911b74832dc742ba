/**
 * What the signature, and whatever speaks about the record as a whole, do to it. Pure; mirror of
 * `api/records/entries_signed.py`.
 */

import type {
  RecordAddended, RecordPlacedInChart, RecordReattributed, RecordRemovedFromChart, RecordSigned, RecordVoided,
} from "../events/catalogue";
import type { Entry } from "./order";
import type { RecordVersion } from "./record";
import { note, payloadOf, trace, type Handler, type Unfinished } from "./unfinished";

/** Sign the record: its first version. */
export const signed: Handler = (draft, entry) => {
  const { signer_id, role, content_hash, statement } = payloadOf<RecordSigned>(entry);
  const { occurred_at: at, event_id, tablet_id, tablet_seq } = entry.event.body;
  draft.record.sign_off = { signer_id, role, at, content_hash, event_id, statement };
  draft.signedBy = { tablet_id, tablet_seq };
  nextVersion(draft, entry, "signed");
  return true;
};

/** Add an addendum. */
export const addended: Handler = (draft, entry) => {
  if (draft.record.sign_off === null) {
    note(draft, "addendum_without_signature", "An addendum to an unsigned record.", entry);
  }
  const { text, reason } = payloadOf<RecordAddended>(entry);
  draft.record.addenda.push({ text, reason, ...trace(entry) });
  nextVersion(draft, entry, "addendum");
  return true;
};

/** Note that the record is in the chart. */
export const placed: Handler = (draft, entry) => {
  if (draft.record.sign_off === null) {
    note(draft, "placed_without_signature", "Put into the chart without a signature.", entry);
  }
  const said = payloadOf<RecordPlacedInChart>(entry);
  const { occurred_at: at, actor_id: by, event_id } = entry.event.body;
  // A desk that did not say which version it placed knew of the first one only.
  const placing = { how: said.how, note: said.note ?? null, version: said.version || 1, at, by, event_id };
  const { record } = draft;
  record.placings.push(placing);
  // What an earlier version's paper is said about afterwards does not take the later one out.
  if (record.chart === null || placing.version >= record.chart.version) record.chart = placing;
  return true;
};

/** Note that a paper was taken out of a chart where it no longer belongs. */
export const removed: Handler = (draft, entry) => {
  const { because, note: said } = payloadOf<RecordRemovedFromChart>(entry);
  draft.record.removals.push({ because, note: said ?? null, ...trace(entry) });
  return true;
};

/** Move the record to the chart of the patient it belongs to. */
export const reattributed: Handler = (draft, entry) => {
  const { record } = draft;
  const { from, to, reason } = payloadOf<RecordReattributed>(entry);
  const known = record.patient;
  if (known !== null
    && (known.chart_number !== from.chart_number || known.second_identifier !== from.second_identifier)) {
    note(draft, "reattributed_from_another", "The record was moved from a chart in which it was not.", entry);
  }
  record.patient = { ...to };
  record.reattributions.push({ from, to, reason, ...trace(entry) });
  if (!surelyBeforeSignature(draft, entry)) nextVersion(draft, entry, "reattribution");
  return true;
};

/** Say that the record does not hold. Everything in it stays. */
export const voided: Handler = (draft, entry) => {
  if (draft.record.voided !== null) {
    note(draft, "voided_twice", "The record was voided more than once.", entry);
    return false;
  }
  draft.record.voided = { reason: payloadOf<RecordVoided>(entry).reason, ...trace(entry) };
  nextVersion(draft, entry, "void");
  return true;
};

/** Count a version; before the signature there is none. */
function nextVersion({ record }: Unfinished, entry: Entry, cause: RecordVersion["cause"]): void {
  if (record.sign_off !== null) {
    record.versions.push({ version: record.versions.length + 1, cause, ...trace(entry) });
  }
}

function surelyBeforeSignature({ signedBy }: Unfinished, entry: Entry): boolean {
  // Between two writers no clock decides. Taken for later, a move costs a version; taken for
  // earlier, it would leave the paper of another patient standing as the present one.
  const { tablet_id, tablet_seq } = entry.event.body;
  return signedBy === null || (tablet_id === signedBy.tablet_id && tablet_seq < signedBy.tablet_seq);
}
