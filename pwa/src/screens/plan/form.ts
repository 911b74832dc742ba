/** What is typed on the plan screen, and the settings it means. */
import { sentence } from "../../parts/dose";
import type { Typed } from "../../parts/number";
import { latestCheck, usable } from "../../session/checks";
import { split, withCheck } from "../../session/settings";
import type { Device, Handpiece, PassPlan, Preset, Settings } from "../../session/types";
import { t } from "../../text";
import { SPOT_FIELDS, type SpotForm, spotFormOf, spotRequest } from "./spot-form";
import { emptyValues, quantity, readAs, UNITS, type ValueName, VALUES } from "./values";

/** The fields each emission asks for first, and those that open below. */
export const FIRST: Record<string, ValueName[]> = {
  continuous: ["power"],
  gated: ["power", "gate_on", "gate_off"],
  pulsed: ["power", "pulse_duration", "repetition_rate"],
};
export const FURTHER: Record<string, ValueName[]> = {
  continuous: [],
  gated: ["pulse_duration", "repetition_rate"],
  pulsed: ["pulse_energy", "pulse_period"],
};

export interface PlanForm {
  device_id: string;
  handpiece_id: string;
  preset: PassPlan["preset"];
  preset_settings: Settings | null;
  mode: string;
  power_kind: string;
  values: Record<ValueName, Typed>;
  spot_form: SpotForm;
  definition: string;
  spot_known: string;
  focus: string;
  coolant: string;
  distance: string | null;
  /** The kind of tissue to show results for; it is not recorded. Empty or absent: none. */
  tissue?: string;
  /** Emission values of a preset that the form has no field for; carried along unchanged. */
  extra: Record<string, string>;
  /** The pass these values were taken from; a later pass is taken in anew. */
  from_pass: string | null;
  /** What was typed under another emission, so that whoever comes back to it finds it again. */
  aside?: Record<string, PlanForm["values"]>;
}

export function emptyForm(): PlanForm {
  return {
    device_id: "", handpiece_id: "", preset: null, preset_settings: null, mode: "", power_kind: "",
    values: emptyValues(), spot_form: "diameter", definition: "1/e2", spot_known: "label", focus: "focused", coolant: "none",
    distance: null, extra: {}, from_pass: null,
  };
}

/**
 * Another emission. What the new one keeps below the fold begins as it was left there, never with what
 * was typed for the old one: nobody would see it go into the record.
 */
export function withMode(form: PlanForm, mode: string): PlanForm {
  const aside = { ...form.aside, [form.mode]: form.values };
  const values = { ...form.values };
  const before = aside[mode] ?? emptyValues();
  for (const name of FURTHER[mode] ?? []) values[name] = before[name];
  for (const name of FIRST[mode] ?? []) if (values[name].raw.trim() === "") values[name] = before[name];
  return { ...form, mode, values, aside };
}

/** Take the handpiece's registered spot into the form. */
export function withHandpiece(form: PlanForm, handpiece: Handpiece): PlanForm {
  return {
    ...form, device_id: handpiece.device_id, handpiece_id: handpiece.handpiece_id,
    spot_form: "diameter", definition: handpiece.diameter_definition, spot_known: handpiece.spot_known, distance: handpiece.working_distance,
    values: { ...form.values, ...spotValues(handpiece) },
  };
}

const SPOT_VALUES: readonly ValueName[] = [...new Set(Object.values(SPOT_FIELDS).flatMap(({ needed, optional }) => [...needed, ...optional])), "spot_uncertainty"];
/** How far a stated diameter may be off, as the request names it. */
const OF_DIAMETER = "spot.diameter";

/**
 * What the register says of spot, lens, waist and bore, ready for whoever states the spot that way.
 * Nothing of another handpiece stays behind.
 */
function spotValues(handpiece: Handpiece): Partial<Record<ValueName, Typed>> {
  const stated: Record<string, string> = { ...handpiece.optics, spot: handpiece.spot_diameter };
  return Object.fromEntries(SPOT_VALUES.map((name) => [name, stated[name] ? typed(stated[name], name) : emptyValues()[name]]));
}

function typed(text: string, name: ValueName): Typed {
  const { value, unit } = split(text);
  const plain = unit.replace("µ", "u");
  return { raw: value, unit: UNITS[name].includes(plain) ? plain : UNITS[name][0]!, sure: true };
}

/** Fill the form from settings that somebody else wrote: a preset, or the pass before. */
export function fromSettings(form: PlanForm, settings: Settings): PlanForm {
  const values = emptyValues();
  const extra: Record<string, string> = {};
  let power_kind = settings.emission["power_kind"] ?? "";
  for (const [name, text] of Object.entries(settings.emission)) {
    if (name === "mode" || name === "power_kind") continue;
    if (name === "average_power" && !settings.emission["power"]) {
      values.power = typed(text, "power");
      power_kind = "average";
    } else if (name === "peak_power" && !settings.emission["power"] && !settings.emission["average_power"]) {
      values.power = typed(text, "power");
      power_kind = "peak";
    } else if ((VALUES as readonly string[]).includes(name)) {
      values[name as ValueName] = typed(text, name as ValueName);
    } else extra[name] = text;
  }
  const spot_form = spotFormOf(settings.spot);
  for (const name of SPOT_VALUES) {
    const text = name === "spot_uncertainty" ? settings.uncertainty?.[OF_DIAMETER] : settings.spot?.[name === "spot" ? "diameter" : name];
    // What these settings leave open stays as the handpiece states it.
    values[name] = text ? typed(text, name) : form.values[name] ?? values[name];
  }
  if (settings.motion?.["speed"]) values.speed = typed(settings.motion["speed"], "speed");
  return {
    ...form, values, extra, power_kind, spot_form, mode: settings.emission["mode"] ?? "",
    definition: settings.spot?.["diameter_definition"] ?? form.definition,
  };
}

export function fromPreset(form: PlanForm, preset: Preset, handpiece: Handpiece | undefined): PlanForm {
  const base = handpiece ? withHandpiece(form, handpiece) : { ...form, device_id: preset.device_id, handpiece_id: preset.handpiece_id };
  const filled = fromSettings(base, preset.settings);
  const next: PlanForm = {
    ...filled, preset: { preset_id: preset.preset_id, version: preset.version, name: preset.name, event_id: preset.event_id ?? null },
    spot_known: preset.spot_known, focus: preset.focus, coolant: preset.coolant,
  };
  return { ...next, preset_settings: compose(next, null).settings };
}

/** Take over the settings of a running pass, unless somebody is already changing them. */
export function fromPass(form: PlanForm, plan: PassPlan, pass_event_id: string): PlanForm {
  if (form.from_pass === pass_event_id) return form;
  const base = { ...emptyForm(), device_id: plan.device_id, handpiece_id: plan.handpiece_id, spot_known: plan.spot_known };
  return {
    ...fromSettings(base, plan.settings), preset: plan.preset, preset_settings: plan.preset_settings,
    focus: plan.focus, coolant: plan.coolant, distance: plan.distance, from_pass: pass_event_id,
  };
}

export interface Composed { settings: Settings; complete: boolean; missing: Record<string, string> }

/** The settings the form means. Nothing doubtful goes in: what cannot be read is missing. */
export function compose(form: PlanForm, device: Device | null): Composed {
  const emission: Record<string, string> = { ...form.extra };
  const missing: Record<string, string> = {};
  if (form.mode) emission["mode"] = form.mode;
  else missing["mode"] = t.common.number.needed;
  const wanted = [...(FIRST[form.mode] ?? []), ...(FURTHER[form.mode] ?? [])];
  for (const name of wanted) {
    const text = quantity(form, name);
    if (text) emission[name] = text;
    else if (readAs(form, name).kind !== "empty") missing[name] = "";
  }
  if (emission["power"] && form.mode !== "continuous" && form.mode) {
    if (form.power_kind) emission["power_kind"] = form.power_kind;
    else missing["power_kind"] = t.common.number.needed;
  }
  if (!emission["power"] && !emission["pulse_energy"]) missing["power"] ??= t.common.number.needed;
  const settings: Settings = { wavelength: device?.wavelength ?? "10.6 um", emission };
  const { spot, missing: spotMissing } = spotRequest(form);
  if (spot) settings.spot = spot;
  Object.assign(missing, spotMissing);
  if (spot?.["diameter"]) {
    const off = quantity(form, "spot_uncertainty");
    if (off) settings.uncertainty = { [OF_DIAMETER]: off };
    else if (readAs(form, "spot_uncertainty").kind !== "empty") missing["spot_uncertainty"] = "";
  }
  const speed = quantity(form, "speed");
  if (speed) settings.motion = { speed };
  else if (readAs(form, "speed").kind !== "empty") missing["speed"] = "";
  const check = form.mode ? latestCheck(form.device_id, form.handpiece_id, form.mode) : null;
  return { settings: withCheck(settings, usable(check) ? check : null), complete: Object.keys(missing).length === 0, missing };
}

export function passPlan(form: PlanForm, settings: Settings): PassPlan {
  return {
    device_id: form.device_id, handpiece_id: form.handpiece_id, settings, preset: form.preset,
    preset_settings: form.preset_settings, spot_known: form.spot_known, focus: form.focus,
    coolant: form.coolant, distance: form.distance,
  };
}

/** Errors by field path, put at the field a person sees. */
export function atFields(paths: Record<string, string | string[]>): Record<string, string> {
  const names: Record<string, string> = {
    average_power: "power", peak_power: "power", diameter: "spot", motion: "speed", speed: "speed",
  };
  const out: Record<string, string> = {};
  for (const [path, text] of Object.entries(paths)) {
    const last = path.split(".").pop() ?? path;
    const field = path.startsWith("uncertainty.") ? "spot_uncertainty" : names[last] ?? last;
    const said = (Array.isArray(text) ? text : [text]).map(sentence).join(" ");
    out[field] = out[field] && out[field] !== said ? `${out[field]} ${said}` : said;
  }
  return out;
}
