/**
 * What this tablet has written about a record that another one opened, laid over the copy the
 * server sent until the server's next copy holds it. Pure.
 */
import type { FoldEvent, RecordDocument } from "./fold";

const LAID_OVER = new Set(["record.signed", "record.addended"]);

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

/** The record with our own signature and addenda that its history does not know yet. */
export function withPending(doc: RecordDocument, own: readonly FoldEvent[]): RecordDocument {
  const known = new Set(doc.history.map((line) => line.event_id));
  let next = doc;
  for (const { body, payload, body_hash } of own) {
    if (known.has(body.event_id) || payload === null) continue;
    const { event_id, type, occurred_at: at, actor_id: by, tablet_id, tablet_seq, corrects } = body;
    const said = payload as Record<string, string>;
    const signing = type === "record.signed" && next.sign_off === null;
    const adding = type === "record.addended" && next.sign_off !== null;
    if (!signing && !adding) continue;
    next = {
      ...next,
      status: signing ? "signed" : "amended",
      version: next.version + 1,
      ...(signing
        ? { sign_off: { signer_id: said["signer_id"]!, role: said["role"]!, at, content_hash: said["content_hash"]!, event_id, statement: said["statement"]! } }
        : { addenda: [...next.addenda, { text: said["text"]!, reason: said["reason"]!, at, by, event_id }] }),
      history: [...next.history, { event_id, type, at, by, tablet_id, tablet_seq, corrects, body_hash, effective: true }],
    };
  }
  return next;
}
