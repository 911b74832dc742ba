/** What a tap may do: each command checks that it is allowed now, then writes its events. */
import { append } from "../outbox/append";
import { newId } from "../events/ids";
import { nowText } from "../events/times";
import type { EventDraft } from "../events/build";
import { doseForEvent, doseOf } from "./dosing";
import { contentHashOf, firstOf, type RecordDocument } from "./fold";
import { house, latestCheck, usable } from "./house";
import { sameSettings, withCheck } from "./settings";
import { person } from "./state";
import type { PassPlan } from "./types";
import { take } from "./written";

export class Refused extends Error {
  constructor(readonly code: string, message: string) { super(message); }
}

/** Write; the screen shows what is stored, and only after the transaction is complete. */
export async function write(drafts: EventDraft[]): Promise<string[]> {
  const who = person.value;
  if (!who) throw new Refused("nobody", "Nobody is signed in.");
  const stored = await append(drafts, who.person_id);
  // Locked while this was being written: nothing decrypted stays in memory.
  if (person.value) take(stored);
  return stored.map((e) => e.event_id);
}

function mustBeOpen(record: RecordDocument): void {
  if (record.status !== "draft") throw new Refused("not_open", "This procedure has ended.");
}

export interface OpenForm {
  chart_number: string;
  second_identifier: string;
  procedure: { procedure_kind_id: string | null; text: string; code: string | null };
  site: string;
  indication: string;
  why_laser: string | null;
  operator_id: string;
  supervising_id: string | null;
  assistant_ids: string[];
  room: string | null;
  consent_by: string | null;
  anaesthesia: string | null;
  alerts_reviewed: boolean;
  device_id: string;
  handpiece_id: string;
  mode: string;
}

/** Open a case; answers its record id. */
export async function openCase(form: OpenForm): Promise<string> {
  const device = house.value.devices.find((d) => d.device_id === form.device_id);
  const handpiece = house.value.handpieces.find((h) => h.handpiece_id === form.handpiece_id);
  if (!device || !handpiece) throw new Refused("no_device", "Choose the laser and the handpiece first.");
  const check = latestCheck(form.device_id, form.handpiece_id, form.mode);
  const { device_id, label, maker, model, serial, wavelength, delivery_part } = device;
  const record_id = newId();
  const now = nowText();
  await write([{
    type: "procedure.opened",
    entity_id: record_id,
    payload: {
      patient: { chart_number: form.chart_number, second_identifier: form.second_identifier },
      procedure: form.procedure,
      site: form.site,
      indication: form.indication,
      why_laser: form.why_laser,
      operator_id: form.operator_id,
      supervising_id: form.supervising_id,
      assistant_ids: form.assistant_ids,
      others_present: null,
      room: form.room,
      device: { device_id, label, maker, model, serial, wavelength, delivery_part },
      handpiece: { handpiece_id: handpiece.handpiece_id, label: handpiece.label, kind: handpiece.kind, use_count: null },
      verification: check && check.event_id ? {
        verification_id: check.verification_id, event_id: check.event_id, ratio: check.ratio,
        ratio_uncertainty: check.ratio_uncertainty ?? "0", verified_at: check.verified_at,
        mode: check.mode, handpiece_id: check.handpiece_id, verdict: check.verdict,
      } : null,
      consent: form.consent_by ? { by: form.consent_by, at: now } : null,
      anaesthesia: form.anaesthesia,
      alerts_reviewed: form.alerts_reviewed,
      started_at: now,
    },
  }]);
  return record_id;
}

export interface TimeoutAnswer { item_id: string; text: string; answer: string; note: string | null; answered_at: string }

export async function answerTimeout(
  record: RecordDocument, list: { list_id: string; version: number; title: string }, answers: TimeoutAnswer[],
): Promise<void> {
  mustBeOpen(record);
  await write([{
    type: "timeout.answered",
    entity_id: record.record_id,
    payload: { list_id: list.list_id, list_version: list.version, title: list.title, answers, led_by: person.value!.person_id },
  }]);
}

/** The drafts that start a pass; a step taken before the laser was used takes its forerunner back. */
export async function startPass(
  record: RecordDocument, plan: PassPlan, options: { closing?: EventDraft[]; replaces?: { event_id: string; number: number; reason: string } } = {},
): Promise<string> {
  mustBeOpen(record);
  // A pass does not name its tip: the record does. With another one in hand, the check of the
  // record's tip would stand behind the numbers of this one.
  if (plan.device_id !== record.device?.device_id || plan.handpiece_id !== record.handpiece?.handpiece_id) {
    throw new Refused("other_handpiece",
      "This case was opened with another handpiece or tip. End it, and open a case with the one in use.");
  }
  const found = latestCheck(plan.device_id, plan.handpiece_id, plan.settings.emission["mode"] ?? "");
  const check = usable(found) ? found : null;
  const settings = withCheck(plan.settings, check);
  const outcome = doseOf(settings);
  if (!outcome.ok) throw new Refused("settings", Object.values(outcome.errors).flat().join(" "));
  const last = record.passes[record.passes.length - 1];
  const drafts: EventDraft[] = [...(options.closing ?? [])];
  if (options.replaces) {
    drafts.push({ type: "entry.withdrawn", entity_id: record.record_id, corrects: options.replaces.event_id, payload: { reason: options.replaces.reason } });
  }
  drafts.push({
    type: "pass.started",
    entity_id: record.record_id,
    payload: {
      pass_id: newId(),
      number: options.replaces ? options.replaces.number : (last?.number ?? 0) + 1,
      settings,
      verification_event_id: check?.event_id ?? null,
      preset: plan.preset,
      changed_from_preset: plan.preset_settings != null && !sameSettings(plan.settings, plan.preset_settings),
      spot_known: plan.spot_known,
      focus: plan.focus,
      coolant: plan.coolant,
      distance: plan.distance,
      dose: doseForEvent(outcome.response),
    },
  });
  const ids = await write(drafts);
  return ids[ids.length - 1]!;
}

/** A draft of laser-on time; `seconds` is a decimal string. */
export function laserDraft(record_id: string, pass_id: string, seconds: string, source: string, pulses: number | null): EventDraft {
  return { type: "laser.emitted", entity_id: record_id, payload: { pass_id, laser_on_time: `${seconds} s`, source, pulses } };
}

export async function addLaserTime(record: RecordDocument, pass_id: string, seconds: string, source: string, pulses: number | null): Promise<string> {
  mustBeOpen(record);
  return (await write([laserDraft(record.record_id, pass_id, seconds, source, pulses)]))[0]!;
}

export async function addNote(record: RecordDocument, text: string): Promise<void> {
  await write([{ type: "procedure.noted", entity_id: record.record_id, payload: { text } }]);
}

export async function withdraw(record_id: string, event_id: string, reason: string): Promise<void> {
  await write([{ type: "entry.withdrawn", entity_id: record_id, corrects: event_id, payload: { reason } }]);
}

export async function endCase(record: RecordDocument, outcome: Record<string, string | null>): Promise<void> {
  mustBeOpen(record);
  await write([{ type: "procedure.ended", entity_id: record.record_id, payload: { outcome, ended_at: nowText() } }]);
}

/** Take the end back, so that something forgotten can be added before signing. */
export async function reopen(record: RecordDocument): Promise<void> {
  if (record.status !== "ended") throw new Refused("not_ended", "Only an ended, unsigned procedure goes on.");
  const end = [...record.history].reverse().find((h) => h.type === "procedure.ended" && h.effective);
  if (end) await withdraw(record.record_id, firstOf(record.history, end.event_id), "Went on before signing");
}

export async function signRecord(record: RecordDocument, role: string, statement: string): Promise<void> {
  if (record.status !== "ended") throw new Refused("not_ended", "End the procedure before it is signed.");
  const hashes = record.history.map((line) => line.body_hash);
  // A copy that does not say what its entries hash to cannot be signed from here.
  if (hashes.some((hash) => !hash)) throw new Refused("elsewhere", "Sign on the tablet that recorded the procedure.");
  const content_hash = await contentHashOf(hashes);
  await write([{ type: "record.signed", entity_id: record.record_id, payload: { signer_id: person.value!.person_id, role, content_hash, statement } }]);
}

export async function addAddendum(record: RecordDocument, text: string, reason: string): Promise<void> {
  if (record.status !== "signed" && record.status !== "amended") throw new Refused("not_signed", "Addenda belong to signed records.");
  await write([{ type: "record.addended", entity_id: record.record_id, payload: { text, reason } }]);
}
