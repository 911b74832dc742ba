/** What is asked of each kind of thing in a register, and what a filled form says. Pure but for its words. */
import type { Option } from "../../parts/fields";
import { readTyped, type Typed } from "../../parts/number";
import { NotAQuantity, to_si } from "../../dose/quantity";
import type { RegisterKind } from "../../session/registers";
import { t } from "../../text";

/** Where in the payload a value stands: "limits.average_power.max" is nested. */
export interface FieldSpec {
  path: string;
  kind: "text" | "note" | "day" | "quantity" | "number" | "percent" | "whole" | "choice" | "modes" | "tick";
  required?: boolean;
  units?: readonly string[];
  max?: number;
  zero?: boolean;
  /** Of a choice: which one; its words are `t.registers.choices[options]` or the house's own. */
  options?: "device" | "room" | "part" | "handpiece_kind" | "definition" | "known" | "laser_class" | "work" | "person";
  /** A day that cannot lie ahead. */
  past?: boolean;
}
export interface Section { id: string; fields: readonly FieldSpec[]; folded?: boolean }
export type Values = Readonly<Record<string, Typed>>;
export type Wrong = "missing" | "unreadable" | "order" | "ahead" | "early" | "whole" | "modes" | "range" | "handpiece";

const LIMIT_UNITS = {
  average_power: ["W", "mW"], peak_power: ["W", "mW"], pulse_energy: ["mJ", "J"], pulse_duration: ["us", "ms"],
  repetition_rate: ["Hz"], duty_cycle: [""], gate_on: ["ms", "s"], gate_off: ["ms", "s"],
} as const;
export const LIMITS = Object.keys(LIMIT_UNITS) as (keyof typeof LIMIT_UNITS)[];
const LENGTH = ["mm", "um"] as const;
const ANGLE = ["mrad", "deg"] as const;
const WAVE = ["um", "nm"] as const;
const quantity = (path: string, units: readonly string[], more: Partial<FieldSpec> = {}): FieldSpec => ({ path, kind: "quantity", units, ...more });
const text = (path: string, max: number, more: Partial<FieldSpec> = {}): FieldSpec => ({ path, kind: "text", max, required: true, ...more });
const known = (path: string): FieldSpec => ({ path, kind: "choice", options: "known" });
const optic = (name: string, units: readonly string[] | null): FieldSpec[] =>
  [units ? quantity(`optics.${name}`, units) : { path: `optics.${name}`, kind: "number" }, known(`optics_known.${name}`)];

export const FORMS: Readonly<Record<RegisterKind, readonly Section[]>> = {
  device: [
    { id: "device", fields: [
      text("label", 120), text("maker", 200), text("model", 200), text("serial", 120), quantity("wavelength", WAVE, { required: true }),
      { path: "laser_class", kind: "choice", options: "laser_class", required: true }, { path: "delivery_part", kind: "choice", options: "part", required: true },
      { path: "modes", kind: "modes", required: true }, { path: "room_id", kind: "choice", options: "room" }] },
    { id: "limits", fields: LIMITS.flatMap((name) => ["min", "max"].map((end) => quantity(`limits.${name}.${end}`, LIMIT_UNITS[name]))) },
    { id: "beam", folded: true, fields: [
      quantity("beam.diameter", LENGTH), known("beam.diameter_known"), quantity("beam.full_divergence", ANGLE), known("beam.full_divergence_known"),
      { path: "beam.beam_quality_m2", kind: "number" }, known("beam.beam_quality_m2_known")] },
  ],
  handpiece: [
    { id: "handpiece", fields: [
      text("label", 120), { path: "device_id", kind: "choice", options: "device", required: true }, { path: "kind", kind: "choice", options: "handpiece_kind", required: true },
      quantity("spot_diameter", LENGTH, { required: true }), { path: "diameter_definition", kind: "choice", options: "definition", required: true },
      { path: "spot_known", kind: "choice", options: "known", required: true }, quantity("working_distance", ["mm", "cm"], { zero: true }),
      { path: "use_limit", kind: "whole" }] },
    { id: "optics", folded: true, fields: [
      ...optic("focal_length", ["mm", "cm"]), ...optic("beam_diameter_at_lens", ["mm"]), ...optic("beam_quality_m2", null),
      ...optic("waist_diameter", LENGTH), ...optic("bore_diameter", LENGTH), ...optic("full_divergence", ANGLE)] },
  ],
  eyewear: [{ id: "eyewear", fields: [
    text("label", 80), quantity("shortest_wavelength", ["nm", "um"], { required: true }), quantity("longest_wavelength", ["nm", "um"], { required: true }),
    { path: "optical_density", kind: "number", required: true }, text("marking", 200, { required: false }),
    { path: "room_id", kind: "choice", options: "room" }, { path: "note", kind: "note" }] }],
  key: [{ id: "key", fields: [text("label", 80), { path: "device_id", kind: "choice", options: "device", required: true }, text("kept_at", 200)] }],
  meter: [{ id: "meter", fields: [text("label", 200), text("serial", 120), ...calibration()] }],
};

export function calibration(): FieldSpec[] {
  return [
    { path: "calibrated_on", kind: "day", required: true, past: true }, { path: "due_on", kind: "day" },
    { path: "uncertainty", kind: "percent" }, text("certificate", 200, { required: false }),
  ];
}

const at = (values: Values, path: string): Typed => values[path] ?? { raw: "", unit: "" };
export const unitOf = (spec: FieldSpec): string => (spec.kind === "percent" ? "%" : spec.units?.[0] ?? "");
export const unitsOf = (spec: FieldSpec): readonly string[] => (spec.kind === "percent" ? ["%"] : spec.units ?? [""]);
export const typedAt = (values: Values, spec: FieldSpec): Typed => values[spec.path] ?? { raw: "", unit: unitOf(spec) };

/** The form of something that is registered, or an empty one. */
export function valuesOf(sections: readonly Section[], document: object | null): Values {
  const values: Record<string, Typed> = {};
  for (const spec of sections.flatMap(({ fields }) => fields)) {
    const held = spec.path.split(".").reduce<unknown>((inner, name) => (inner as Record<string, unknown> | null | undefined)?.[name], document);
    if (held == null) continue;
    values[spec.path] = toTyped(spec, held);
  }
  return values;
}

function toTyped(spec: FieldSpec, held: unknown): Typed {
  if (Array.isArray(held)) return { raw: held.join(","), unit: "" };
  const said = String(held);
  if (spec.kind === "percent") return { raw: percent(said), unit: "%", sure: true };
  if (spec.kind === "number" || spec.kind === "whole") return { raw: said, unit: "", sure: true };
  if (spec.kind !== "quantity") return { raw: said, unit: "" };
  const [number = "", ...unit] = said.split(" ");
  const plain = unit.join(" ").replace(/^[µμ]/, "u");
  return { raw: number, unit: spec.units?.includes(plain) ? plain : unitOf(spec), sure: true };
}

export interface Filled { payload: Record<string, unknown>; wrong: Readonly<Record<string, Wrong>> }

/** What a form says, and what is wrong with it by field. `today` is the location's day. */
export function filled(sections: readonly Section[], values: Values, today: string): Filled {
  const payload: Record<string, unknown> = {};
  const wrong: Record<string, Wrong> = {};
  for (const spec of sections.flatMap(({ fields }) => fields)) {
    const { value, problem } = readField(spec, values, today);
    if (problem) wrong[spec.path] = problem;
    put(payload, spec.path.split("."), value);
  }
  // A laser whose limits nobody has read has an empty table of them.
  if (sections.some(({ id }) => id === "limits")) payload["limits"] ??= {};
  order(payload, wrong, sections);
  return { payload, wrong };
}

function readField(spec: FieldSpec, values: Values, today: string): { value: unknown; problem?: Wrong } {
  const typed = at(values, spec.path);
  const raw = typed.raw.trim();
  if (raw === "") return { value: spec.kind === "modes" ? [] : spec.kind === "tick" ? false : null, ...(spec.required ? { problem: spec.kind === "modes" ? "modes" as const : "missing" as const } : {}) };
  if (spec.kind === "modes") return { value: raw.split(",") };
  if (spec.kind === "tick") return { value: raw === "true" };
  if (spec.kind === "day") return spec.past && raw > today ? { value: raw, problem: "ahead" } : { value: raw };
  if (spec.kind === "text" || spec.kind === "note" || spec.kind === "choice") return { value: raw };
  const read = readTyped({ ...typed, unit: typed.unit || unitOf(spec) }, unitsOf(spec));
  if (read.kind !== "number") return { value: null, problem: "unreadable" };
  if (spec.kind === "whole") return /^[1-9]\d*$/.test(read.text) ? { value: Number(read.text) } : { value: null, problem: "whole" };
  if (spec.kind === "percent") return Number(read.text) < 100 ? { value: shifted(read.text) } : { value: null, problem: "range" };
  if (Number(read.text) === 0 && !spec.zero) return { value: null, problem: "range" };
  return { value: `${read.text} ${read.unit ?? (typed.unit || unitOf(spec))}`.trim() };
}

/** What must not be smaller than what. */
function order(payload: Record<string, unknown>, wrong: Record<string, Wrong>, sections: readonly Section[]): void {
  const pairs: [string, string][] = [["shortest_wavelength", "longest_wavelength"],
    ...LIMITS.map((name): [string, string] => [`limits.${name}.min`, `limits.${name}.max`])];
  const paths = new Set(sections.flatMap(({ fields }) => fields.map(({ path }) => path)));
  const read = (path: string) => path.split(".").reduce<unknown>((inner, name) => (inner as Record<string, unknown> | null)?.[name], payload);
  for (const [least, most] of pairs) {
    if (!paths.has(most) || wrong[least] || wrong[most]) continue;
    const [a, b] = [size(read(least)), size(read(most))];
    if (a !== null && b !== null && a > b) wrong[most] = "order";
  }
  // What was measured says nothing without what was set, nor the other way round.
  for (const name of ["power_before", "power_after"]) {
    const ends = ["expected", "measured"].map((end) => `${name}.${end}`).filter((path) => paths.has(path));
    if (ends.some((path) => read(path) != null)) for (const path of ends) if (read(path) == null) wrong[path] ??= "missing";
  }
  const { done_on, next_due_on } = payload as { done_on?: string | null; next_due_on?: string | null };
  if (done_on && next_due_on && next_due_on <= done_on) wrong["next_due_on"] = "early";
  const { calibrated_on, due_on } = payload as { calibrated_on?: string | null; due_on?: string | null };
  if (calibrated_on && due_on && due_on <= calibrated_on) wrong["due_on"] = "order";
}

/** In SI, whatever the quantity is; null where it is none. */
function size(said: unknown): number | null {
  if (typeof said !== "string") return null;
  const [number, unit = ""] = said.split(" ");
  try {
    return unit === "" ? Number(number) : to_si(said, ({ W: "W", mW: "W", J: "J", mJ: "J", Hz: "Hz", us: "s", ms: "s", s: "s", nm: "m", um: "m", mm: "m" } as Record<string, string>)[unit] ?? unit);
  } catch (problem) {
    if (problem instanceof NotAQuantity) return null;
    throw problem;
  }
}

/** Nested parts that hold nothing are left out, as parts that are not known. */
function put(into: Record<string, unknown>, [name, ...rest]: readonly string[], value: unknown): void {
  if (rest.length === 0) {
    into[name!] = value;
    return;
  }
  if (value === null) return;
  const inner = (into[name!] ??= {}) as Record<string, unknown>;
  put(inner, rest, value);
}

/** "5" percent as "0.05", and back, digit by digit. */
function shifted(percentage: string): string {
  const [whole = "", rest = ""] = percentage.split(".");
  const digits = whole.padStart(3, "0");
  return `${digits.slice(0, -2)}.${digits.slice(-2)}${rest}`.replace(/^0+(?=\d)/, "").replace(/\.?0+$/, "") || "0";
}
const percent = (ratio: string): string => String(Number((Number(ratio) * 100).toPrecision(9)));

/** The choices of a field, with nothing chosen in front where that may be so. */
export function optionsOf(spec: FieldSpec, house: { devices: readonly Option[]; rooms: readonly Option[]; people: readonly Option[] }): Option[] {
  const w = t.registers;
  const words: Record<NonNullable<FieldSpec["options"]>, readonly Option[]> = {
    device: house.devices, room: house.rooms, person: house.people,
    work: Object.entries(t.upkeep.works).map(([value, text]) => ({ value, text })),
    part: Object.entries(w.parts).map(([value, text]) => ({ value, text })),
    handpiece_kind: Object.entries(w.handpieceKinds).map(([value, text]) => ({ value, text })),
    definition: Object.entries(t.plan.definitions).map(([value, text]) => ({ value, text })),
    known: Object.entries(w.known).map(([value, text]) => ({ value, text })),
    laser_class: ["1", "1C", "1M", "2", "2M", "3R", "3B", "4"].map((value) => ({ value, text: value })),
  };
  return [{ value: "", text: spec.required ? w.choose : t.common.notStated }, ...words[spec.options!]];
}
