/**
 * What the entries of a procedure's course, from its opening to its end, do to a record. Pure;
 * mirror of `api/records/entries_course.py`.
 */

import type {
  AttachmentAdded, ListAnswered, OperatorAccepted, ProcedureEnded, ProcedureHandedOver, ProcedureNoted, ProcedureOpened,
  ProcedurePaused, ProtectionNoted, ServiceOverridden, TimeoutAnswered,
} from "../events/catalogue";
import { endPause } from "./entries_passes";
import type { Entry } from "./order";
import { belongsElsewhere, note, payloadOf, trace, type Handler } from "./unfinished";

/** Take over what the opening says; only the first one counts. */
export const opened: Handler = (draft, entry) => {
  if (draft.opened) {
    note(draft, "opened_twice", "The procedure was opened more than once.", entry);
    return false;
  }
  draft.opened = true;
  const said = payloadOf<ProcedureOpened>(entry);
  Object.assign(draft.record, {
    patient: said.patient ?? null,
    procedure: said.procedure ?? null,
    site: said.site ?? null,
    indication: said.indication ?? null,
    why_laser: said.why_laser ?? null,
    operator_id: said.operator_id ?? null,
    supervising_id: said.supervising_id ?? null,
    assistant_ids: [...(said.assistant_ids ?? [])],
    others_present: said.others_present ?? null,
    room: said.room ?? null,
    device: said.device ?? null,
    handpiece: said.handpiece ?? null,
    verification: said.verification ?? null,
    consent: said.consent ?? null,
    anaesthesia: said.anaesthesia ?? null,
    alerts_reviewed: said.alerts_reviewed ?? null,
    started_at: said.started_at ?? null,
  });
  draft.assisting = new Set(draft.record.assistant_ids);
  if (belongsElsewhere(said.handpiece, said.device)) {
    note(draft, "handpiece_of_another_device", "The record's handpiece is another laser's.", entry);
  }
  return true;
};

/** Keep the time-out as answered; the last one holds. */
export const timeoutAnswered: Handler = (draft, entry) => {
  const { event_id: _, ...answers } = answersOf(entry);
  draft.record.time_out = answers;
  return true;
};

/** Add a list as answered. */
export const listAnswered: Handler = (draft, entry) => {
  const { kind, within_s = null } = payloadOf<ListAnswered>(entry);
  draft.record.lists.push({ kind, within_s, ...answersOf(entry) });
  return true;
};

/** Add a note. */
export const noted: Handler = (draft, entry) => {
  draft.record.notes.push({ text: payloadOf<ProcedureNoted>(entry).text, ...trace(entry) });
  return true;
};

/** Begin a pause, unless one is open or the procedure is over. */
export const paused: Handler = (draft, entry) => {
  const { pauses, ended_at } = draft.record;
  if (ended_at !== null) {
    note(draft, "pause_after_end", "A pause was noted after the procedure's end.", entry);
    return false;
  }
  if (pauses[pauses.length - 1]?.to_at === null) {
    note(draft, "paused_twice", "A pause was noted while another was open.", entry);
    return false;
  }
  const { at: from_at, by, event_id } = trace(entry);
  pauses.push({ from_at, to_at: null, reason: payloadOf<ProcedurePaused>(entry).reason ?? null, by, event_id });
  return true;
};

/** End the open pause. */
export const resumed: Handler = (draft, entry) => {
  if (endPause(draft.record, trace(entry).at)) return true;
  note(draft, "resumed_without_pause", "It went on, and no pause was open.", entry);
  return false;
};

/** Note who took over from whom; an operator's passes are theirs from here on. */
export const handedOver: Handler = (draft, entry) => {
  const { record, assisting } = draft;
  const { from_id, to_id, role, note: remark } = payloadOf<ProcedureHandedOver>(entry);
  const inRole = {
    operator: record.operator_id === from_id,
    assistant: assisting.has(from_id),
    // Whoever is signed in records; no entry says who else could.
    recorder: true,
  };
  if (!inRole[role]) {
    note(draft, "handover_from_another", "Whoever handed over was not in that role.", entry);
  }
  if (role === "operator") record.operator_id = to_id;
  if (role === "assistant") {
    assisting.delete(from_id);
    assisting.add(to_id);
    if (!record.assistant_ids.includes(to_id)) record.assistant_ids.push(to_id);
  }
  record.handovers.push({ from_id, to_id, role, note: remark ?? null, ...trace(entry) });
  return true;
};

/** Keep why it went on with an operator although something stood against them. */
export const operatorAccepted: Handler = (draft, entry) => {
  const { operator_id, findings, reason } = payloadOf<OperatorAccepted>(entry);
  draft.record.accepted.push({ operator_id, findings, reason, ...trace(entry) });
  return true;
};

/** Keep why it went on with a laser that was out of service, and why that was. */
export const serviceOverridden: Handler = (draft, entry) => {
  const { device_id, causes, reason } = payloadOf<ServiceOverridden>(entry);
  draft.record.overrides.push({ device_id, causes, reason, ...trace(entry) });
  return true;
};

/** Keep how people were protected; the last word holds, the history keeps all. */
export const protectionNoted: Handler = (draft, entry) => {
  const { heads, eyewear, evacuator, masks, deviations } = payloadOf<ProtectionNoted>(entry);
  draft.record.protection = {
    heads, eyewear, evacuator: evacuator ?? null, masks: masks ?? null, deviations: deviations ?? null, ...trace(entry),
  };
  if (eyewear.length < heads) {
    note(draft, "eyewear_missing", "There was less eyewear than heads.", entry);
  }
  return true;
};

/** Add a photograph; its bytes lie beside the log, by their hash. */
export const attachmentAdded: Handler = (draft, entry) => {
  const said = payloadOf<AttachmentAdded>(entry);
  if (draft.record.attachments.some((one) => one.attachment_id === said.attachment_id)) {
    note(draft, "attachment_repeated", "A second photograph carries an earlier one's id.", entry);
    return false;
  }
  draft.record.attachments.push({
    attachment_id: said.attachment_id,
    kind: said.kind,
    sha256: said.sha256,
    media_type: said.media_type,
    size_bytes: said.size_bytes,
    width_px: said.width_px,
    height_px: said.height_px,
    caption: said.caption ?? null,
    taken_at: said.taken_at,
    ...trace(entry),
  });
  return true;
};

/** End the procedure, and the pause that was open. */
export const ended: Handler = (draft, entry) => {
  if (draft.record.ended_at !== null) {
    note(draft, "ended_twice", "The procedure was ended more than once.", entry);
  }
  const said = payloadOf<ProcedureEnded>(entry);
  endPause(draft.record, said.ended_at);
  draft.record.outcome = said.outcome;
  draft.record.ended_at = said.ended_at;
  return true;
};

function answersOf(entry: Entry) {
  const { list_id, list_version, title, led_by, answers } = payloadOf<TimeoutAnswered>(entry);
  const { at: completed_at, event_id } = trace(entry);
  return { list_id, list_version, title, led_by, answers, completed_at, event_id };
}
