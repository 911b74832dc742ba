/**
 * What this tablet has written about a record that another one opened, laid over the copy the
 * server sent until the server's next copy holds it. Pure.
 */
import type { Patient } from "../events/catalogue";
import type { FoldEvent, RecordDocument } from "./fold";
import type { RecordVersion } from "./record";
import { saidOf } from "./said";

const LAID_OVER = new Set(["record.signed", "record.addended", "record.reattributed", "record.voided"]);

/**
 * Whether the server's copy of a record can be shown in place of what this tablet folds itself.
 *
 * It cannot while it misses an entry of ours that is not laid over it: somebody would read back,
 * and sign, less than there is.
 */
export function standsFor(doc: RecordDocument, own: RecordDocument): boolean {
  const sent = new Set(doc.history.map((line) => line.event_id));
  const mine = new Set(own.history.map((line) => line.event_id));
  const unsent = own.history.filter((line) => !sent.has(line.event_id));
  if (unsent.length === 0) return true;
  return doc.history.some((line) => !mine.has(line.event_id)) && unsent.every((line) => LAID_OVER.has(line.type));
}

/** The record with what we wrote about it as a whole, which its history does not know yet. */
export function withPending(doc: RecordDocument, own: readonly FoldEvent[]): RecordDocument {
  const known = new Set(doc.history.map((line) => line.event_id));
  let next = doc;
  for (const event of own) {
    const { body, payload, body_hash } = event;
    if (known.has(body.event_id) || payload === null) continue;
    const laid = laidOver(next, event);
    if (laid === null) continue;
    const { event_id, type, occurred_at: at, actor_id: by, tablet_id, tablet_seq, corrects } = body;
    next = {
      ...laid,
      history: [...next.history, {
        event_id, type, at, by, tablet_id, tablet_seq, corrects, body_hash, effective: true,
        said: saidOf(type, payload), changes: [],
      }],
    };
  }
  return next;
}

function laidOver(doc: RecordDocument, { body, payload }: FoldEvent): RecordDocument | null {
  const { event_id, occurred_at: at, actor_id: by } = body;
  const trace = { at, by, event_id };
  const said = payload as unknown as Record<string, string> & { from: Patient; to: Patient };
  const version = (cause: RecordVersion["cause"]): Pick<RecordDocument, "version" | "versions"> => {
    const versions = doc.sign_off === null && cause !== "signed"
      ? doc.versions : [...doc.versions, { version: doc.versions.length + 1, cause, ...trace }];
    return { versions, version: versions.length };
  };
  const amended = doc.sign_off === null || doc.status === "void" ? doc.status : "amended";
  if (body.type === "record.signed" && doc.sign_off === null) {
    return {
      ...doc, ...version("signed"), status: "signed",
      sign_off: { signer_id: said["signer_id"]!, role: said["role"]!, at, content_hash: said["content_hash"]!, event_id, statement: said["statement"]! },
    };
  }
  if (body.type === "record.addended" && doc.sign_off !== null) {
    return { ...doc, ...version("addendum"), status: amended, addenda: [...doc.addenda, { text: said["text"]!, reason: said["reason"]!, ...trace }] };
  }
  if (body.type === "record.reattributed") {
    return {
      ...doc, ...version("reattribution"), status: amended, patient: { ...said.to },
      reattributions: [...doc.reattributions, { from: said.from, to: said.to, reason: said["reason"]!, ...trace }],
    };
  }
  if (body.type === "record.voided" && doc.voided === null) {
    return { ...doc, ...version("void"), status: "void", voided: { reason: said["reason"]!, ...trace } };
  }
  return null;
}
