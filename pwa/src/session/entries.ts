/** What each kind of entry does to a record. Pure; mirror of `api/records/entries.py`. */

import type {
  LaserEmitted, PassStarted, ProcedureEnded, ProcedureNoted, ProcedureOpened, RecordAddended,
  RecordPlacedInChart, RecordSigned, TimeoutAnswered,
} from "../events/catalogue";
import { BadInput } from "../dose/errors";
import { byText, flag, type Entry, type Flag } from "./order";
import { passDose, type PassDose } from "./passdose";
import type { RecordDocument } from "./record";

/** A record being put together, with what the fold must remember on the way. */
export interface Unfinished {
  record: RecordDocument;
  flags: Flag[];
  opened: boolean;
  afterEnd: Set<string>;
}

type Handler = (draft: Unfinished, entry: Entry) => boolean;

const payloadOf = <T>(entry: Entry): T => entry.event.payload as unknown as T;
const note = (draft: Unfinished, code: string, text: string, entry: Entry): void => {
  draft.flags.push(flag(code, text, entry.event));
};

/** Put the entries into the record; answers the ids of events that had no effect after all. */
export function apply(draft: Unfinished, entries: readonly Entry[]): Set<string> {
  const withoutEffect = new Set<string>();
  const emissions: Entry[] = [];
  for (const entry of entries) {
    const { type, event_id } = entry.event.body;
    // Kept until all passes are known: a corrected pass may stand behind its emissions.
    if (type === "laser.emitted") emissions.push(entry);
    else if (!HANDLERS[type]?.(draft, entry)) withoutEffect.add(event_id);
  }
  closePasses(draft);
  for (const entry of emissions) {
    if (!emitted(draft, entry)) withoutEffect.add(entry.event.body.event_id);
  }
  sumEmissions(draft.record);
  return withoutEffect;
}

const opened: Handler = (draft, entry) => {
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
  return true;
};

const answered: Handler = (draft, entry) => {
  const { list_id, list_version, title, led_by, answers } = payloadOf<TimeoutAnswered>(entry);
  // A later correction of an answer does not move the time-out to a later moment.
  const completed_at = entry.first.body.occurred_at;
  draft.record.time_out = { list_id, list_version, title, led_by, answers, completed_at };
  return true;
};

const passStarted: Handler = (draft, entry) => {
  const said = payloadOf<PassStarted>(entry);
  if (draft.record.passes.some((one) => one.pass_id === said.pass_id)) {
    note(draft, "pass_repeated", "A second pass carries the id of an earlier one.", entry);
    return false;
  }
  if (draft.record.ended_at !== null) {
    note(draft, "pass_after_end", "A pass was started after the procedure's end.", entry);
    draft.afterEnd.add(said.pass_id);
  }
  draft.record.passes.push({
    pass_id: said.pass_id,
    number: said.number,
    settings: said.settings,
    preset: said.preset ?? null,
    changed_from_preset: said.changed_from_preset,
    spot_known: said.spot_known,
    focus: said.focus,
    coolant: said.coolant,
    distance: said.distance ?? null,
    started_at: entry.first.body.occurred_at,
    ended_at: null,
    laser_on: [],
    laser_on_s: 0,
    sources: [],
    dose: doseOf(draft, entry),
    total_energy_j: { set: null, delivered: null },
    tablet_dose: said.dose ?? null,
    event_id: entry.event.body.event_id,
  });
  return true;
};

function doseOf(draft: Unfinished, entry: Entry): PassDose {
  try {
    return passDose(payloadOf<PassStarted>(entry).settings);
  } catch (problem) {
    if (!(problem instanceof BadInput)) throw problem;
    note(draft, "dose_not_computable", "The settings of a pass give no dose.", entry);
    return { engine: null, set: {}, delivered: null, basis: null, absent: {} };
  }
}

const emitted: Handler = (draft, entry) => {
  const said = payloadOf<LaserEmitted>(entry);
  const one = draft.record.passes.find((pass) => pass.pass_id === said.pass_id);
  if (one === undefined) {
    note(draft, "emission_without_pass", "A laser-on time belongs to no pass.", entry);
    return false;
  }
  const seconds = secondsOf(said.laser_on_time);
  if (seconds === null) {
    note(draft, "laser_on_unreadable", "A laser-on time cannot be read.", entry);
    return false;
  }
  one.laser_on.push({
    seconds,
    source: said.source,
    pulses: said.pulses ?? null,
    at: entry.first.body.occurred_at,
    event_id: entry.event.body.event_id,
  });
  return true;
};

function secondsOf(text: string): number | null {
  const found = /^([0-9]+(?:\.[0-9]+)?(?:[eE][+-]?[0-9]+)?) s$/.exec(text);
  const seconds = found ? Number(found[1]) : Infinity;
  return Number.isFinite(seconds) ? seconds : null;
}

const noted: Handler = (draft, entry) => {
  const { actor_id, event_id } = entry.event.body;
  const { text } = payloadOf<ProcedureNoted>(entry);
  draft.record.notes.push({ text, at: entry.first.body.occurred_at, by: actor_id, event_id });
  return true;
};

const ended: Handler = (draft, entry) => {
  if (draft.record.ended_at !== null) {
    note(draft, "ended_twice", "The procedure was ended more than once.", entry);
  }
  const said = payloadOf<ProcedureEnded>(entry);
  draft.record.outcome = said.outcome;
  draft.record.ended_at = said.ended_at;
  return true;
};

const signed: Handler = (draft, entry) => {
  const { signer_id, role, content_hash, statement } = payloadOf<RecordSigned>(entry);
  const { occurred_at: at, event_id } = entry.event.body;
  draft.record.sign_off = { signer_id, role, at, content_hash, event_id, statement };
  return true;
};

const addended: Handler = (draft, entry) => {
  if (draft.record.sign_off === null) {
    note(draft, "addendum_without_signature", "An addendum to an unsigned record.", entry);
  }
  const { text, reason } = payloadOf<RecordAddended>(entry);
  const { occurred_at: at, actor_id: by, event_id } = entry.event.body;
  draft.record.addenda.push({ text, reason, at, by, event_id });
  return true;
};

const placed: Handler = (draft, entry) => {
  if (draft.record.sign_off === null) {
    note(draft, "placed_without_signature", "Put into the chart without a signature.", entry);
  }
  const said = payloadOf<RecordPlacedInChart>(entry);
  const { occurred_at: at, actor_id: by, event_id } = entry.event.body;
  draft.record.chart = { how: said.how, note: said.note ?? null, at, by, event_id };
  return true;
};

const HANDLERS: Readonly<Record<string, Handler>> = {
  "procedure.opened": opened,
  "timeout.answered": answered,
  "pass.started": passStarted,
  "procedure.noted": noted,
  "procedure.ended": ended,
  "record.signed": signed,
  "record.addended": addended,
  "record.placed_in_chart": placed,
};

/** End each pass where the next one starts, or where the procedure ends if that comes first. */
function closePasses({ record, afterEnd }: Unfinished): void {
  record.passes.forEach((one, place) => {
    const following = record.passes[place + 1];
    if (afterEnd.has(one.pass_id)) one.ended_at = following?.started_at ?? null;
    else if (following !== undefined && !afterEnd.has(following.pass_id)) one.ended_at = following.started_at;
    else one.ended_at = record.ended_at;
  });
}

function sumEmissions(record: RecordDocument): void {
  for (const one of record.passes) {
    for (const part of one.laser_on) one.laser_on_s += part.seconds;
    one.sources = [...new Set(one.laser_on.map((part) => part.source))].sort(byText);
    if (one.laser_on.length > 0) {
      // Without any laser-on time the energy is unknown, which is not the same as none.
      one.total_energy_j = {
        set: energyJ(one.dose.set, one.laser_on_s),
        delivered: energyJ(one.dose.delivered, one.laser_on_s),
      };
    }
  }
}

function energyJ(values: Record<string, number> | null, seconds: number): number | null {
  const power_w = values?.["average_power"];
  return power_w === undefined ? null : power_w * seconds;
}
