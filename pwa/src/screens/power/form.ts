/** A power check while it is being made, and the verification it means. */
import type { VerificationRecorded } from "../../events/catalogue";
import { newId } from "../../events/ids";
import { readTyped, type Typed } from "../../parts/number";
import { checks, latestCheck } from "../../session/checks";
import { draft, type Draft } from "../../session/draft";
import { localDay } from "../../session/lists";
import { inUse, meters } from "../../session/registers";
import { person, zone } from "../../session/state";
import type { Device, Settings, Verification } from "../../session/types";
import { LEAST_READINGS, LEAST_SETTINGS, RULE, type Verified, workOut } from "../../session/verification";
import { emptyForm, FIRST, fromSettings, FURTHER, type PlanForm, withMode } from "../plan/form";
import { judge, type Judged } from "../plan/judge";
import { meterFacts, NO_METER, type MeterFacts } from "../register/meter-facts";

export const POWER_UNITS: readonly string[] = ["W", "mW"];
/** As many as a payload carries. */
export const MOST = 50;

/** One panel setting, and what the meter showed at it. */
export interface SettingForm { plan: PlanForm; shown: Typed[] }

export interface CheckForm {
  id: string;
  handpiece_id: string;
  mode: string;
  label: string;
  serial: string;
  calibrated_on: string;
  uncertainty: Typed;
  settings: SettingForm[];
  note: string;
}

/** What a person has typed about one laser's check and not saved yet; null where nothing is. */
export const checkDraft = (device_id: string): Draft<CheckForm | null> =>
  draft<CheckForm | null>(`power-check:${person.value!.person_id}:${device_id}`, null);

const blank = (): Typed => ({ raw: "", unit: "W" });
const filled = (raw: string, unit: string): Typed => ({ raw, unit, sure: true });
const noReadings = (): Typed[] => Array.from({ length: LEAST_READINGS }, blank);

/** A new check of a laser: what hardly ever changes is as it was at the last one. */
export function freshForm(device: Device, tips: readonly { handpiece_id: string }[]): CheckForm {
  const last = checks.value.reduce<Verification | null>(
    (best, one) => (best && Date.parse(best.verified_at) >= Date.parse(one.verified_at) ? best : one), null)?.said;
  const form: CheckForm = {
    id: newId(), handpiece_id: "", mode: "", ...meterNow(last), settings: [], note: "",
  };
  return withDelivery(form, device, tips.length === 1 ? tips[0]!.handpiece_id : "", device.modes.length === 1 ? device.modes[0]! : "");
}

/** The meter of the last check as the register says it is now; one that is retired is not offered again. */
function meterNow(last: VerificationRecorded | undefined): MeterFacts {
  if (!last?.meter) return NO_METER;
  const { label, serial, calibrated_on } = last.meter;
  const before: MeterFacts = { label, serial, calibrated_on, uncertainty: last.meter_uncertainty ? filled(percentOf(last.meter_uncertainty), "%") : NO_METER.uncertainty };
  const known = meters.value.filter((one) => one.label === label && one.serial === serial);
  const now = known.find(inUse);
  if (!now) return known.length > 0 ? NO_METER : before;
  // Whoever registers a meter may not know its uncertainty; a new certificate says its own.
  return now.uncertainty || now.calibrated_on !== calibrated_on ? meterFacts(now) : before;
}

/**
 * What is checked: this tip with this emission. Its settings are those of its last check, so that a
 * trend compares like with like; whatever was typed for another stays with the form's values.
 */
export function withDelivery(form: CheckForm, device: Device, handpiece_id: string, mode: string): CheckForm {
  const before = latestCheck(device.device_id, handpiece_id, mode)?.said.readings ?? [];
  const touched = form.settings.some(({ shown }) => shown.some(({ raw }) => raw.trim() !== ""));
  const settings = touched || !mode ? form.settings.map((one) => ({ ...one, plan: withMode(one.plan, mode) }))
    : Array.from({ length: Math.max(LEAST_SETTINGS, before.length) }, (_, n) => settingFrom(device, mode, before[n]?.settings));
  return { ...form, handpiece_id, mode, settings };
}

function settingFrom(device: Device, mode: string, before: object | undefined): SettingForm {
  const empty: PlanForm = { ...emptyForm(), device_id: device.device_id, mode };
  const emission = (before as Partial<Settings> | undefined)?.emission;
  const plan = emission ? fromSettings(empty, { wavelength: device.wavelength, emission }) : empty;
  return { plan: { ...plan, mode }, shown: noReadings() };
}

export const anotherSetting = (form: CheckForm, device: Device): CheckForm =>
  ({ ...form, settings: [...form.settings, settingFrom(device, form.mode, undefined)] });

/** A reading changed; below the last one that is filled there is always an empty one. */
export function withReading(setting: SettingForm, at: number, typed: Typed): SettingForm {
  const shown = setting.shown.map((one, n) => (n === at ? typed : one));
  const full = shown.every(({ raw }) => raw.trim() !== "");
  return { ...setting, shown: full && shown.length < MOST ? [...shown, { raw: "", unit: typed.unit }] : shown };
}

export interface JudgedSetting {
  judged: Judged;
  /** The average power that the setting means [W], as decimal text; null where it cannot be worked out yet. */
  expected_w: string | null;
  readings: string[];
  /** A field that holds something, and no number. */
  doubtful: boolean;
}

/** Why a check cannot be saved yet, by what has to be looked at. */
export type Lacks = "delivery" | "meter" | "calibrated" | "uncertainty" | "settings" | "readings";

export interface JudgedCheck {
  settings: JudgedSetting[];
  /** From what can be read so far; null where nothing can. */
  verified: Verified | null;
  lacks: Lacks | null;
  payload: VerificationRecorded | null;
}

export function judgeSetting({ plan, shown }: SettingForm, device: Device): JudgedSetting {
  const judged = judge(plan, device);
  const wanted = new Set<string>(["mode", "power_kind", ...(FIRST[plan.mode] ?? []), ...(FURTHER[plan.mode] ?? [])]);
  const wrong = [judged.composed.missing, judged.limits, judged.errors].some((named) => Object.keys(named).some((name) => wanted.has(name)));
  const power = judged.outcome?.ok && !judged.contradicted && !wrong ? judged.outcome.response.dose.set["average_power"]?.value : undefined;
  const reads = shown.map((typed) => ({ typed, read: readTyped(typed, POWER_UNITS) }));
  return {
    judged,
    expected_w: power !== undefined && power > 0 ? plainText(power) : null,
    readings: reads.flatMap(({ typed, read }) => (read.kind === "number" ? [`${read.text} ${read.unit ?? typed.unit}`] : [])),
    doubtful: reads.some(({ read }) => read.kind !== "number" && read.kind !== "empty"),
  };
}

export function judgeCheck(form: CheckForm, device: Device): JudgedCheck {
  const settings = form.settings.map((one) => judgeSetting(one, device));
  const read = readTyped(form.uncertainty, ["%"]);
  const uncertainty = read.kind === "number" ? shifted(read.text, 2) : null;
  // A setting without any reading is one that was not measured.
  const measured = settings.filter(({ readings }) => readings.length > 0);
  const ready = measured.flatMap(({ expected_w, readings }) => (expected_w === null ? [] : [{ expected_w, measured_w: readings.map(watts) }]));
  const verified = uncertainty !== null && ready.length > 0 && ready.length === measured.length ? workOut(ready, uncertainty) : null;
  const lacks = lackOf(form, settings, uncertainty);
  if (lacks || verified === null) return { settings, verified, lacks: lacks ?? "readings", payload: null };
  return {
    settings, verified, lacks: null,
    payload: {
      device_id: device.device_id, handpiece_id: form.handpiece_id, mode: form.mode,
      meter: { label: form.label.trim(), serial: form.serial.trim(), calibrated_on: form.calibrated_on },
      readings: measured.map(({ judged, expected_w, readings }) =>
        ({ settings: { emission: judged.composed.settings.emission }, expected_average_power: `${expected_w} W`, measured: readings })),
      ratio: verified.ratio, ratio_uncertainty: verified.ratio_uncertainty, meter_uncertainty: uncertainty!,
      verdict: verified.verdict, rule: RULE, note: form.note.trim() || null,
    },
  };
}

function lackOf(form: CheckForm, settings: readonly JudgedSetting[], uncertainty: string | null): Lacks | null {
  if (!form.handpiece_id || !form.mode) return "delivery";
  if (!form.label.trim() || !form.serial.trim()) return "meter";
  if (!form.calibrated_on || form.calibrated_on > localDay(Date.now(), zone.value)) return "calibrated";
  if (uncertainty === null) return "uncertainty";
  if (settings.some(({ expected_w, readings }) => readings.length > 0 && expected_w === null)) return "settings";
  return settings.some(({ doubtful }) => doubtful) || settings.every(({ readings }) => readings.length === 0) ? "readings" : null;
}

/** "3700 mW" as watts, exactly. */
export function watts(quantity: string): string {
  const [value = "", unit] = quantity.split(" ");
  return unit === "mW" ? shifted(value, 3) : value;
}

/** Move the point of plain decimal text to the left. */
function shifted(text: string, places: number): string {
  const [whole = "", rest = ""] = text.split(".");
  const digits = whole.padStart(places + 1, "0");
  const moved = `${digits.slice(0, -places)}.${digits.slice(-places)}${rest}`;
  return moved.replace(/\.?0+$/, "");
}

/** "0.05" as "5". */
function percentOf(ratio: string): string {
  return String(Number((Number(ratio) * 100).toPrecision(9)));
}

/** What the engine works out in binary, without the digits that only binary has. */
function plainText(value: number): string {
  const text = String(Number(value.toPrecision(9)));
  return /e/i.test(text) ? Number(text).toFixed(12).replace(/\.?0+$/, "") : text;
}
