/** What passes and laser-on times do to a record. Pure; mirror of `api/records/entries_passes.py`. */

import { BadInput } from "../dose/errors";
import type { LaserEmitted, PassStarted } from "../events/catalogue";
import { byText } from "./by_text";
import type { Entry } from "./order";
import { passDose, type PassDose } from "./passdose";
import type { RecordDocument, RecordPass } from "./record";
import { belongsElsewhere, note, payloadOf, trace, type Handler, type Unfinished } from "./unfinished";

/** Begin a pass; whatever was paused goes on with it. */
export const passStarted: Handler = (draft, entry) => {
  const { record } = draft;
  const said = payloadOf<PassStarted>(entry);
  if (record.passes.some((one) => one.pass_id === said.pass_id)) {
    note(draft, "pass_repeated", "A second pass carries the id of an earlier one.", entry);
    return false;
  }
  if (record.ended_at !== null) {
    note(draft, "pass_after_end", "A pass was started after the procedure's end.", entry);
    draft.afterEnd.add(said.pass_id);
  }
  if (belongsElsewhere(said.handpiece, record.device)) {
    note(draft, "handpiece_of_another_device", "The handpiece of a pass is another laser's.", entry);
  }
  const { at, event_id } = trace(entry);
  endPause(record, at);
  record.passes.push({
    pass_id: said.pass_id,
    number: said.number,
    settings: said.settings,
    preset: said.preset ?? null,
    changed_from_preset: said.changed_from_preset,
    spot_known: said.spot_known,
    focus: said.focus,
    coolant: said.coolant,
    distance: said.distance ?? null,
    operator_id: record.operator_id,
    handpiece: said.handpiece ?? record.handpiece,
    verification: verificationOf(said, record),
    started_at: at,
    ended_at: null,
    laser_on: [],
    laser_on_s: 0,
    sources: [],
    dose: doseOf(draft, entry),
    total_energy_j: { set: null, delivered: null },
    tablet_dose: said.dose ?? null,
    event_id,
  });
  return true;
};

/** End the pause that is open, if one is; answers whether there was one. */
export function endPause(record: RecordDocument, at: string): boolean {
  const open = record.pauses[record.pauses.length - 1];
  if (open === undefined || open.to_at !== null) return false;
  open.to_at = at;
  return true;
}

/** Add a laser-on time to its pass. */
export const emitted: Handler = (draft, entry) => {
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
  const { at, event_id } = trace(entry);
  one.laser_on.push({ seconds, source: said.source, pulses: said.pulses ?? null, at, event_id });
  return true;
};

/** End each pass where the next one starts, or where the procedure ends if that comes first. */
export function closePasses({ record, afterEnd }: Unfinished): void {
  record.passes.forEach((one, place) => {
    const following = record.passes[place + 1];
    if (afterEnd.has(one.pass_id)) one.ended_at = following?.started_at ?? null;
    else if (following !== undefined && !afterEnd.has(following.pass_id)) one.ended_at = following.started_at;
    else one.ended_at = record.ended_at;
  });
}

/** Add up the laser-on times of each pass, and the energy they come to. */
export function sumEmissions(record: RecordDocument): void {
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

function verificationOf(said: PassStarted, record: RecordDocument): RecordPass["verification"] {
  if (said.verification !== undefined) return said.verification;
  const own = said.handpiece ?? record.handpiece;
  // The check of one tip says nothing about another.
  return own?.handpiece_id === record.handpiece?.handpiece_id ? record.verification : null;
}

function doseOf(draft: Unfinished, entry: Entry): PassDose {
  try {
    return passDose(payloadOf<PassStarted>(entry).settings);
  } catch (problem) {
    if (!(problem instanceof BadInput)) throw problem;
    note(draft, "dose_not_computable", "The settings of a pass give no dose.", entry);
    return { engine: null, set: {}, delivered: null, basis: null, absent: {} };
  }
}

/** Some thirty years, as the server has it: what is longer leaves sums and energies that are no numbers. */
const LONGEST_S = 1e9;

function secondsOf(text: string): number | null {
  const found = /^([0-9]+(?:\.[0-9]+)?(?:[eE][+-]?[0-9]+)?) s$/.exec(text);
  const seconds = found ? Number(found[1]) : Infinity;
  return seconds <= LONGEST_S ? seconds : null;
}

function energyJ(values: Record<string, number> | null, seconds: number): number | null {
  const power_w = values?.["average_power"];
  return power_w === undefined ? null : power_w * seconds;
}
