/** The values of the plan screen: their units, how they are read, and how a tap steps them. */
import { type ReadNumber, readTyped, type Typed } from "../../parts/number";
import { addSteps, stepOf } from "../../session/settings";
import type { PlanForm } from "./form";

export const VALUES = [
  "power", "pulse_energy", "pulse_duration", "repetition_rate", "pulse_period", "gate_on", "gate_off", "spot", "speed",
  "focal_length", "beam_diameter_at_lens", "beam_quality_m2", "defocus", "waist_diameter", "bore_diameter", "distance", "full_divergence",
  "spot_uncertainty",
] as const;
export type ValueName = (typeof VALUES)[number];

export const UNITS: Readonly<Record<ValueName, readonly string[]>> = {
  power: ["W", "mW"], pulse_energy: ["mJ", "J"], pulse_duration: ["us", "ms"], repetition_rate: ["Hz"],
  pulse_period: ["ms", "us", "s"], gate_on: ["ms", "s"], gate_off: ["ms", "s"], spot: ["mm", "um"], speed: ["mm/s"],
  focal_length: ["mm", "cm"], beam_diameter_at_lens: ["mm"], beam_quality_m2: [""], defocus: ["mm", "cm"],
  waist_diameter: ["mm", "um"], bore_diameter: ["mm", "um"], distance: ["mm", "cm"], full_divergence: ["mrad", "deg"],
  spot_uncertainty: ["%"],
};

/** Where nothing at all is a value like any other. */
export const ZERO: ReadonlySet<ValueName> = new Set(["defocus", "distance"]);

export const emptyValues = (): Record<ValueName, Typed> =>
  Object.fromEntries(VALUES.map((name) => [name, { raw: "", unit: UNITS[name][0]! }])) as Record<ValueName, Typed>;

/** What stands in a field; a form kept by an older version of this program has not all of them. */
export function valueOf(form: PlanForm, name: ValueName): Typed {
  return form.values[name] ?? { raw: "", unit: UNITS[name][0]! };
}

export function readAs(form: PlanForm, name: ValueName): ReadNumber {
  return readTyped(valueOf(form, name), UNITS[name]);
}

/** The value as the request carries it; null where it is not there or not yet certain. */
export function quantity(form: PlanForm, name: ValueName): string | null {
  const read = readAs(form, name);
  if (read.kind !== "number" || (Number(read.text) === 0 && !ZERO.has(name))) return null;
  return `${read.text} ${read.unit ?? valueOf(form, name).unit}`.trim();
}

/** Step sizes of what is no panel value: this project's own choice, common practice, no source. */
function geometryStep(name: ValueName, size: number, unit: string): string | null {
  if (name === "beam_quality_m2") return "0.1";
  if (name === "full_divergence") return unit === "deg" ? "0.5" : "5";
  if (name === "speed" || name === "spot_uncertainty") return "1";
  if (unit === "um") return size < 100 ? "10" : "50";
  if (name === "focal_length") return unit === "cm" ? "1" : "5";
  if (name === "defocus" || name === "distance") return unit === "cm" ? "0.1" : "0.5";
  if (name === "beam_diameter_at_lens") return "0.5";
  if (unit === "mm") return size < 1 ? "0.05" : "0.1";
  return null;
}

const GEOMETRY: ReadonlySet<ValueName> = new Set([
  "spot", "speed", "focal_length", "beam_diameter_at_lens", "beam_quality_m2", "defocus", "waist_diameter", "bore_diameter", "distance", "full_divergence", "spot_uncertainty",
]);

export interface Stepping { by: string; unit: string; less: string | null; more: string | null }

/** The least a value can be; nothing stands for "more than zero". */
function leastOf(name: ValueName): string | null {
  if (name === "beam_quality_m2") return "1";
  return ZERO.has(name) ? "0" : null;
}

/** Where one tap on minus or plus leads; null while what is typed is not a number. */
export function stepping(form: PlanForm, name: ValueName): Stepping | null {
  const read = readAs(form, name);
  if (read.kind !== "number" && read.kind !== "empty") return null;
  const unit = (read.kind === "number" ? read.unit : undefined) ?? valueOf(form, name).unit;
  const value = read.kind === "number" ? read.text : "0";
  const size = Number(value);
  const by = (GEOMETRY.has(name) ? geometryStep(name, size, unit) : null) ?? stepOf(name, { value, unit });
  const least = leastOf(name);
  if (read.kind === "empty") return { by, unit, less: null, more: least ?? by };
  const room = size - Number(least ?? "0");
  const less = room > Number(by) ? addSteps(value, by, -1) : least !== null && room > 0 ? least : null;
  return { by, unit, less, more: addSteps(value, by, 1) };
}
