/** What a tap may do: each command checks that it is allowed now, then writes its events. */
import { append } from "../outbox/append";
import { newId } from "../events/ids";
import { nowText } from "../events/times";
import type { EventDraft } from "../events/build";
import type { HandpieceUsed, OperatorAccepted, PassStarted, ProcedureOpened, ServiceOverridden, VerificationUsed } from "../events/catalogue";
import { doseForEvent, doseOf } from "./dosing";
import { firstOf, type RecordDocument } from "./fold";
import { latestCheck, usable } from "./checks";
import { house } from "./house";
import { barred } from "./house_presets";
import { sameSettings, withCheck } from "./settings";
import { person } from "./state";
import type { PassPlan, Verification } from "./types";
import { usesOf } from "./uses";
import { take } from "./written";

export class Refused extends Error {
  /** `said`: the engine's own sentences, where the refusal is made of them. */
  constructor(readonly code: string, message: string, readonly said: readonly string[] = []) { super(message); }
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

export function mustBeOpen(record: RecordDocument): void {
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
  others_present: string | null;
  room: string | null;
  consent: { by: string; at: string } | null;
  anaesthesia: string | null;
  alerts_reviewed: boolean;
  device_id: string;
  handpiece_id: string;
  mode: string;
}

/** Open a case; answers its record id. `notes`, `accepted` and `overridden` are reasons given on the way, kept with it in one save. */
export async function openCase(form: OpenForm, notes: readonly string[] = [], accepted: OperatorAccepted | null = null, overridden: ServiceOverridden | null = null): Promise<string> {
  const record_id = newId();
  const device = house.value.devices.find((d) => d.device_id === form.device_id);
  const handpiece = handpieceUsed(form.handpiece_id, record_id);
  if (!device || !handpiece) throw new Refused("no_device", "Choose the laser and the handpiece first.");
  const { device_id, label, maker, model, serial, wavelength, delivery_part } = device;
  const started_at = nowText();
  const payload: ProcedureOpened = {
    ...saidOf(form),
    device: { device_id, label, maker, model, serial, wavelength, delivery_part },
    handpiece,
    verification: verificationUsed(latestCheck(form.device_id, form.handpiece_id, form.mode)),
    started_at,
  };
  await write([
    { type: "procedure.opened", entity_id: record_id, payload },
    ...(accepted ? [{ type: "operator.accepted", entity_id: record_id, payload: accepted }] : []),
    ...(overridden ? [{ type: "service.overridden", entity_id: record_id, payload: overridden }] : []),
    ...notes.map((text) => ({ type: "procedure.noted", entity_id: record_id, payload: { text } })),
  ]);
  return record_id;
}

/** What people say at the opening; the rest of it the house's registers say. */
export function saidOf(form: OpenForm): Omit<ProcedureOpened, "device" | "handpiece" | "verification" | "started_at"> {
  const { chart_number, second_identifier, procedure, site, indication, why_laser, operator_id, supervising_id,
    assistant_ids, others_present, room, consent, anaesthesia, alerts_reviewed } = form;
  return {
    patient: { chart_number, second_identifier }, procedure, site, indication, why_laser, operator_id, supervising_id,
    assistant_ids, others_present, room, consent, anaesthesia, alerts_reviewed,
  };
}

/** A registered handpiece or tip as a record names it, with which use of it this is. */
function handpieceUsed(handpiece_id: string, record_id: string): HandpieceUsed | null {
  const found = house.value.handpieces.find((h) => h.handpiece_id === handpiece_id);
  if (!found) return null;
  const { label, kind, device_id } = found;
  return { handpiece_id, label, kind, use_count: usesOf(handpiece_id, record_id) + 1, device_id };
}

function verificationUsed(check: Verification | null): VerificationUsed | null {
  if (!check?.event_id) return null;
  return {
    verification_id: check.verification_id, event_id: check.event_id, ratio: check.ratio,
    ratio_uncertainty: check.ratio_uncertainty ?? "0", verified_at: check.verified_at,
    mode: check.mode, handpiece_id: check.handpiece_id, verdict: check.verdict,
  };
}

/** The drafts that start a pass; a step taken before the laser was used takes its forerunner back. */
export async function startPass(
  record: RecordDocument, plan: PassPlan, options: { closing?: EventDraft[]; replaces?: { event_id: string; number: number; reason: string } } = {},
): Promise<string> {
  mustBeOpen(record);
  if (barred(plan.preset, record.passes)) {
    throw new Refused("preset_withdrawn", "This preset was withdrawn. Choose another, or go on without it.");
  }
  const last = record.passes[record.passes.length - 1];
  const drafts: EventDraft[] = [...(options.closing ?? [])];
  if (options.replaces) {
    drafts.push({ type: "entry.withdrawn", entity_id: record.record_id, corrects: options.replaces.event_id, payload: { reason: options.replaces.reason } });
  }
  drafts.push({
    type: "pass.started",
    entity_id: record.record_id,
    payload: passSaid(record, plan, newId(), options.replaces ? options.replaces.number : (last?.number ?? 0) + 1),
  });
  const ids = await write(drafts);
  return ids[ids.length - 1]!;
}

/** What a pass says of itself. `by_ms`: the moment it was made, where it is put right later. */
export function passSaid(record: RecordDocument, plan: PassPlan, pass_id: string, number: number, by_ms = Infinity): PassStarted {
  if (plan.device_id !== record.device?.device_id) {
    throw new Refused("other_device", "This case was opened with another laser. End it, and open a case with the one in use.");
  }
  const found = latestCheck(plan.device_id, plan.handpiece_id, plan.settings.emission["mode"] ?? "", by_ms);
  const check = usable(found) ? found : null;
  const settings = withCheck(plan.settings, check);
  const outcome = doseOf(settings);
  if (!outcome.ok) {
    const said = Object.values(outcome.errors).flat();
    throw new Refused("settings", said.join(" "), said);
  }
  return {
    pass_id,
    number,
    settings,
    verification_event_id: check?.event_id ?? null,
    preset: plan.preset,
    changed_from_preset: plan.preset_settings != null && !sameSettings(plan.settings, plan.preset_settings),
    spot_known: plan.spot_known as PassStarted["spot_known"],
    focus: plan.focus as PassStarted["focus"],
    coolant: plan.coolant as PassStarted["coolant"],
    distance: plan.distance,
    dose: doseForEvent(outcome.response),
    ...ownDelivery(record, plan.handpiece_id, found),
  };
}

/** The tip of a pass and its check, where they are not the record's own. */
function ownDelivery(record: RecordDocument, handpiece_id: string, check: Verification | null): Pick<PassStarted, "handpiece" | "verification"> {
  const other = handpiece_id !== record.handpiece?.handpiece_id;
  const verification = verificationUsed(check);
  if (!other && (verification?.event_id ?? null) === (record.verification?.event_id ?? null)) return {};
  const handpiece = other ? handpieceUsed(handpiece_id, record.record_id) : null;
  if (other && !handpiece) throw new Refused("no_device", "This handpiece is not registered here.");
  return other ? { handpiece, verification } : { verification };
}

/** A draft of laser-on time; `seconds` is a decimal string. */
export function laserDraft(record_id: string, pass_id: string, seconds: string, source: string, pulses: number | null): EventDraft {
  return { type: "laser.emitted", entity_id: record_id, payload: { pass_id, laser_on_time: `${seconds} s`, source, pulses } };
}

export async function addLaserTime(record: RecordDocument, pass_id: string, seconds: string, source: string, pulses: number | null): Promise<string> {
  mustBeOpen(record);
  return (await write([laserDraft(record.record_id, pass_id, seconds, source, pulses)]))[0]!;
}

export async function addNote(record: RecordDocument, text: string): Promise<string> {
  return (await write([{ type: "procedure.noted", entity_id: record.record_id, payload: { text } }]))[0]!;
}

/** Take an entry back; answers the event that says so, which can itself be taken back. */
export async function withdraw(record_id: string, event_id: string, reason: string): Promise<string> {
  return (await write([{ type: "entry.withdrawn", entity_id: record_id, corrects: event_id, payload: { reason } }]))[0]!;
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
