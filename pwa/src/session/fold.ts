/**
 * The events of one procedure -> its record. Pure: same events, any order of arrival, same record.
 * Mirror of `api/records/fold.py`; both are held to `tests/vectors/fold.json`.
 */

import { apply, type Unfinished } from "./entries";
import { byText, flag, inOrder, opener, resolve, type FoldEvent } from "./order";
import type { HistoryLine, RecordDocument } from "./record";

export { contentHash, contentHashOf, firstOf, type FoldEvent } from "./order";
export type { RecordDocument, RecordPass, HistoryLine, LaserOn } from "./record";

/** The record document of the events of one procedure; throws without any event. */
export function fold(events: Iterable<FoldEvent>): RecordDocument {
  const ordered = inOrder(events);
  const first = ordered[0];
  if (first === undefined) throw new TypeError("a record needs at least one event");
  const resolved = resolve(ordered);
  const draft: Unfinished = {
    record: empty(ordered), flags: resolved.flags, opened: false, afterEnd: new Set(),
  };
  const withoutEffect = apply(draft, resolved.entries);
  if (!draft.opened) {
    draft.flags.push(flag("opening_missing", "The event that opened this record is missing.", first));
  }
  const { record } = draft;
  settleStatus(record);
  record.history = ordered.map((event) => historyLine(
    event, resolved.effective.has(event.body.event_id) && !withoutEffect.has(event.body.event_id)));
  const places = new Map(ordered.map((event, place) => [event.body.event_id, place]));
  record.flags = draft.flags.sort((a, b) =>
    (places.get(a.event_id) ?? 0) - (places.get(b.event_id) ?? 0) || byText(a.code, b.code));
  return record;
}

function empty(ordered: readonly FoldEvent[]): RecordDocument {
  const { body } = opener(ordered)!;
  return {
    record_id: body.entity_id,
    location_id: body.location_id,
    status: "draft",
    version: 0,
    patient: null,
    procedure: null,
    site: null,
    indication: null,
    why_laser: null,
    operator_id: null,
    supervising_id: null,
    assistant_ids: [],
    others_present: null,
    room: null,
    device: null,
    handpiece: null,
    verification: null,
    consent: null,
    anaesthesia: null,
    alerts_reviewed: null,
    started_at: null,
    ended_at: null,
    time_out: null,
    passes: [],
    notes: [],
    outcome: null,
    sign_off: null,
    addenda: [],
    chart: null,
    history: [],
    flags: [],
    provenance: {
      tablet_id: body.tablet_id,
      app_build: body.app_build,
      engine_version: body.engine_version,
      zone: body.zone,
      first_at: ordered[0]!.body.occurred_at,
      last_at: ordered[ordered.length - 1]!.body.occurred_at,
    },
  };
}

function settleStatus(record: RecordDocument): void {
  if (record.sign_off !== null) {
    record.version = 1 + record.addenda.length;
    record.status = record.addenda.length > 0 ? "amended" : "signed";
  } else if (record.ended_at !== null) {
    record.status = "ended";
  }
}

function historyLine({ body, body_hash }: FoldEvent, effective: boolean): HistoryLine {
  return {
    event_id: body.event_id,
    type: body.type,
    at: body.occurred_at,
    by: body.actor_id,
    tablet_id: body.tablet_id,
    tablet_seq: body.tablet_seq,
    corrects: body.corrects,
    // With these a tablet that did not record the procedure can work out what it signs.
    body_hash,
    effective,
  };
}
