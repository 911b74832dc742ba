/** A set-up, a cut and a cleaning while they are being typed, and what they mean. */
import type { CutRecorded, CutReferenced, OpticCleaned } from "../../events/catalogue";
import { newId } from "../../events/ids";
import { readTyped, type Typed } from "../../parts/number";
import { draft, type Draft } from "../../session/draft";
import { type CutReference, cutTrend } from "../../session/optics";
import { split } from "../../session/settings";
import { person } from "../../session/state";
import { depthOf } from "../../session/test-cut";
import type { Device, Handpiece } from "../../session/types";
import { emptyForm, type PlanForm, withMode } from "../plan/form";
import type { Judged } from "../plan/judge";
import { judgeSetting } from "../power/form";

export const LENGTH_UNITS: readonly string[] = ["mm", "cm"];
export const SPOT_UNITS: readonly string[] = ["mm", "um"];
export const TIME_UNITS: readonly string[] = ["s"];
/** Three places tell whether a cut is even; as many as a payload carries. */
const FIRST_DEPTHS = 3;
const MOST_DEPTHS = 20;

const blank = (unit: string): Typed => ({ raw: "", unit });
const filled = (quantity: string | null | undefined, unit: string): Typed => {
  if (!quantity) return blank(unit);
  const { value, unit: known } = split(quantity);
  return { raw: value, unit: known, sure: true };
};
/** A quantity above 0, or from 0 on, as text; null for anything else. */
const quantity = (typed: Typed, units: readonly string[], zero = false): string | null => {
  const read = readTyped(typed, units);
  if (read.kind !== "number" || (!zero && !(Number(read.text) > 0))) return null;
  return `${read.text} ${read.unit ?? typed.unit}`;
};

const draftOf = <T,>(what: string, device_id: string): Draft<T | null> => draft<T | null>(`${what}:${person.value!.person_id}:${device_id}`, null);

export interface SetUpForm {
  id: string; handpiece_id: string; plan: PlanForm; spot: Typed; distance: Typed; stack: string; wetness: string; length: Typed; time: Typed; note: string;
}
export const setUpDraft = (device_id: string): Draft<SetUpForm | null> => draftOf("cut-set-up", device_id);

export function freshSetUp(device: Device, tips: readonly Handpiece[]): SetUpForm {
  const plan = { ...emptyForm(), device_id: device.device_id };
  const form: SetUpForm = {
    id: newId(), handpiece_id: "", plan: device.modes.length === 1 ? withMode(plan, device.modes[0]!) : { ...plan, mode: "" }, spot: blank("mm"), distance: blank("mm"),
    stack: "", wetness: "", length: filled("40 mm", "mm"), time: filled("20 s", "s"), note: "",
  };
  return tips.length === 1 ? withTip(form, tips[0]!) : form;
}

/** Another tip brings its own spot and distance; what was typed for the last one goes. */
export const withTip = (form: SetUpForm, tip: Handpiece): SetUpForm =>
  ({ ...form, handpiece_id: tip.handpiece_id, spot: filled(tip.spot_diameter, "mm"), distance: filled(tip.working_distance, "mm") });

export type SetUpLacks = "tip" | "setting" | "spot" | "distance" | "stack" | "length" | "time";
export interface JudgedSetUp { judged: Judged; expected_w: string | null; depth_m: number | null; lacks: SetUpLacks | null; payload: CutReferenced | null }

export function judgeSetUp(form: SetUpForm, device: Device): JudgedSetUp {
  const { judged, expected_w } = judgeSetting({ plan: form.plan, shown: [] }, device);
  const [spot, distance] = [quantity(form.spot, SPOT_UNITS), quantity(form.distance, LENGTH_UNITS, true)];
  const [length, time] = [quantity(form.length, LENGTH_UNITS), quantity(form.time, TIME_UNITS)];
  const depth_m = expected_w && spot && length && time
    ? depthOf({ expected_average_power: `${expected_w} W`, spot_diameter: spot }, { cut_length: length, cut_time: time, depths: [] })?.expected_m ?? null : null;
  const lacks: SetUpLacks | null = !form.handpiece_id || !form.plan.mode ? "tip" : expected_w === null ? "setting" : spot === null ? "spot" : distance === null ? "distance"
    : !form.stack.trim() || !form.wetness.trim() ? "stack" : length === null ? "length" : time === null ? "time" : null;
  const payload = lacks ? null : {
    device_id: device.device_id, handpiece_id: form.handpiece_id, mode: form.plan.mode, settings: { emission: judged.composed.settings.emission },
    expected_average_power: `${expected_w} W`, spot_diameter: spot!, distance: distance!, stack: form.stack.trim(), wetness: form.wetness.trim(),
    cut_length: length!, cut_time: time!, note: form.note.trim() || null,
  };
  return { judged, expected_w, depth_m, lacks, payload };
}

export interface CutForm { id: string; length: Typed; time: Typed; depths: Typed[]; aiming: CutRecorded["aiming_beam"]; note: string }
export const cutDraft = (device_id: string): Draft<CutForm | null> => draftOf("test-cut", device_id);

export const freshCut = (reference: CutReference): CutForm => ({
  id: newId(), length: filled(reference.cut_length, "mm"), time: filled(reference.cut_time, "s"),
  depths: Array.from({ length: FIRST_DEPTHS }, () => blank("mm")), aiming: null, note: "",
});

/** A depth changed; below the last one that is filled there is always an empty one. */
export function withDepth(form: CutForm, at: number, typed: Typed): CutForm {
  const depths = form.depths.map((one, n) => (n === at ? typed : one));
  const full = depths.every(({ raw }) => raw.trim() !== "");
  return { ...form, depths: full && depths.length < MOST_DEPTHS ? [...depths, blank(typed.unit)] : depths };
}

export interface JudgedCut {
  expected_m: number | null;
  /** Of the expected depth; of the laser's own baseline, where there is one. */
  ratio: number | null;
  relative: number | null;
  lacks: "length" | "time" | "depths" | null;
  payload: CutRecorded | null;
}

export function judgeCut(form: CutForm, reference: CutReference): JudgedCut {
  const [cut_length, cut_time] = [quantity(form.length, LENGTH_UNITS), quantity(form.time, TIME_UNITS)];
  const read = form.depths.map((typed) => ({ raw: typed.raw.trim(), text: quantity(typed, ["mm"], true) }));
  const depths = read.flatMap(({ text }) => text ?? []);
  const found = cut_length && cut_time ? depthOf(reference, { cut_length, cut_time, depths }) : null;
  const ratio = found?.ratio ?? null;
  const center = cutTrend(reference.device_id)?.trend.parts.at(-1)?.center ?? null;
  const lacks = cut_length === null ? "length" : cut_time === null ? "time" : depths.length === 0 || read.some(({ raw, text }) => raw !== "" && text === null) ? "depths" : null;
  return {
    expected_m: found?.expected_m ?? null, ratio, relative: ratio !== null && center ? ratio / center : null, lacks,
    payload: lacks || !found ? null : {
      device_id: reference.device_id, reference_id: reference.test_cut_reference_id, cut_length: cut_length!, cut_time: cut_time!, depths,
      expected_depth: millimetres(found.expected_m), aiming_beam: form.aiming, note: form.note.trim() || null,
    },
  };
}

/** Metres as millimetres with three digits: "3.2 mm". */
export const millimetres = (metres: number): string => `${Number((metres * 1000).toPrecision(3))} mm`;

export interface CleaningForm { id: string; what: OpticCleaned["what"] | ""; handpiece_id: string; note: string }
export const cleaningDraft = (device_id: string): Draft<CleaningForm | null> => draftOf("cleaning", device_id);
export const freshCleaning = (): CleaningForm => ({ id: newId(), what: "", handpiece_id: "", note: "" });
export const cleaningSaid = (form: CleaningForm, device: Device): OpticCleaned | null =>
  (form.what === "" ? null : { device_id: device.device_id, what: form.what, handpiece_id: form.handpiece_id || null, note: form.note.trim() || null });
