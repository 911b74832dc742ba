/**
 * The events of one procedure -> its record. Pure: same events, any order of arrival, same record.
 * Mirror of `api/records/fold.py`; both are held to `tests/vectors/fold.json`.
 */

import { apply } from "./entries";
import { byText } from "./by_text";
import { flag, inOrder, opener, resolve, type Flag, type FoldEvent } from "./order";
import type { HistoryLine, RecordDocument } from "./record";
import { changesOf, saidOf } from "./said";
import type { Unfinished } from "./unfinished";

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
    assisting: new Set(), signedBy: null,
  };
  const withoutEffect = apply(draft, resolved.entries);
  if (!draft.opened) {
    draft.flags.push(flag("opening_missing", "The event that opened this record is missing.", first));
  }
  const { record } = draft;
  settleStatus(record);
  draft.flags.push(...afterVoiding(record, ordered));
  const known = new Map(ordered.map((event) => [event.body.event_id, event]));
  record.history = ordered.map((event) => historyLine(
    event, resolved.effective.has(event.body.event_id) && !withoutEffect.has(event.body.event_id), known));
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
    lists: [],
    protection: null,
    passes: [],
    pauses: [],
    handovers: [],
    accepted: [],
    overrides: [],
    notes: [],
    attachments: [],
    outcome: null,
    sign_off: null,
    addenda: [],
    chart: null,
    placings: [],
    removals: [],
    reattributions: [],
    voided: null,
    versions: [],
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
  record.version = record.versions.length;
  if (record.voided !== null) record.status = "void";
  else if (record.version > 0) record.status = record.version === 1 ? "signed" : "amended";
  else if (record.ended_at !== null) record.status = "ended";
}

// A second voiding is flagged as such; the paper of a void record still goes to its place.
const EXPECTED_AFTER_VOIDING: readonly string[] = ["record.voided", "entry.withdrawn", "record.placed_in_chart", "record.removed_from_chart"];

/** Flag what the voiding writer entered afterwards; of other writers' entries none can say. */
function afterVoiding(record: RecordDocument, ordered: readonly FoldEvent[]): Flag[] {
  const voiding = ordered.find((event) => event.body.event_id === record.voided?.event_id)?.body;
  if (voiding === undefined) return [];
  return ordered
    .filter(({ body }) => body.tablet_id === voiding.tablet_id && body.tablet_seq > voiding.tablet_seq
      && !EXPECTED_AFTER_VOIDING.includes(body.type))
    .map((event) => flag("entry_after_void", "An entry was made after the record was voided.", event));
}

function historyLine(
  { body, body_hash, payload }: FoldEvent, effective: boolean, known: ReadonlyMap<string, FoldEvent>,
): HistoryLine {
  const target = body.corrects === null ? undefined : known.get(body.corrects);
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
    said: saidOf(body.type, payload),
    changes: target?.body.type === body.type ? changesOf(target.payload, payload) : [],
  };
}
