/** The inputs behind each dose number, with where each came from. */
import { dateText, ageText } from "../parts/dates";
import { TISSUE_DEFAULTS } from "../dose/provenance";
import { RANGES } from "../dose/constants";
import { siText } from "../parts/constant-text";
import type { Fact } from "../parts/dose";
import { statusText } from "../parts/provenance";
import { quantityText } from "../parts/quantity";
import { latestCheck } from "../session/checks";
import { CHAIN } from "../parts/results";
import { split } from "../session/settings";
import type { Handpiece, Settings } from "../session/types";
import { localNumbers, t } from "../text";

export interface FactContext {
  preset_settings: Settings | null;
  spot_known: string;
  /** The handpiece as registered, where a spot may differ from what it states. */
  handpiece?: Handpiece | null;
  /** The kind of tissue whose defaults were used, where one was. */
  tissue?: string;
  /** Laser-on time added up in a record, as "12.4 s". */
  counted?: string | undefined;
}

export function factsOf(settings: Settings, context: FactContext): Record<string, Fact> {
  const facts: Record<string, Fact> = {};
  const origin = t.dose.origin as Record<string, string>;
  const status = t.dose.status as Record<string, string>;
  const put = (key: string, value: string, from: string, how: string) => {
    facts[key] = { name: t.dose.input[key] ?? key, value: quantityText(value), origin: from, status: how };
  };
  for (const [name, text] of Object.entries(settings.emission)) {
    if (name === "mode" || name === "pulse_shape") continue;
    const copied = context.preset_settings?.emission[name] === text;
    put(name, name === "power_kind" ? t.plan.kinds[text] ?? text : text, copied ? origin["preset"]! : origin["panel"]!, status["stated"]!);
  }
  const shape = settings.emission["pulse_shape"];
  if (shape || settings.emission["pulse_duration"]) {
    put("pulse_shape", t.dose.shapes[shape ?? "rectangular"]!, shape ? origin["entered"]! : origin["assumed"]!, shape ? status["stated"]! : status["unstated"]!);
  }
  for (const [name, text] of Object.entries(settings.spot ?? {})) {
    if (name === "diameter_definition") continue;
    const registered = name === "diameter" ? context.handpiece?.spot_diameter : context.handpiece?.optics?.[name];
    const copied = context.preset_settings?.spot?.[name] === text;
    const from = context.handpiece && registered !== text ? (copied ? "preset" : "entered") : "handpiece";
    const definition = settings.spot?.["diameter_definition"];
    const off = settings.uncertainty?.[`spot.${name}`];
    const value = `${text}${off ? ` ± ${off}` : ""}${name === "diameter" && definition ? ` (${t.plan.definitions[definition] ?? definition})` : ""}`;
    put(name === "diameter" ? "spot" : name, value, origin[from]!, status[context.spot_known] ?? context.spot_known);
  }
  if (context.tissue) {
    put("tissue", t.plan.tissues[context.tissue] ?? context.tissue, origin["entered"]!, status["stated"]!);
    for (const [name, entry] of Object.entries(TISSUE_DEFAULTS[context.tissue] ?? {})) {
      put(name, siText(entry.value, RANGES[`tissue.${name}`]?.dimension ?? "1"), origin["assumed"]!, statusText(entry.status));
    }
  }
  // The wavelength shapes a beam and its way into tissue; a spot stated by its diameter owes it nothing.
  if (context.tissue || (settings.spot && !settings.spot["diameter"])) put("wavelength", settings.wavelength, origin["device"]!, status["stated"]!);
  if (settings.motion?.["speed"]) put("speed", settings.motion["speed"], origin["entered"]!, status["estimated"]!);
  if (settings.delivery?.["verified_ratio"]) {
    const spread = settings.delivery["verified_ratio_uncertainty"];
    put("verified_ratio", settings.delivery["verified_ratio"] + (spread ? ` ± ${percent(spread)}` : ""),
      `${origin["check"]!}, ${dateText(settings.delivery["verified_at"])}`, status["measured"]!);
  }
  else {
    for (const name of CHAIN) {
      const text = settings.delivery?.[name];
      if (text) put(name, text, origin["design"]!, status["stated"]!);
    }
  }
  if (context.counted) put("emission_time", context.counted, origin["counted"]!, status["stated"]!);
  return facts;
}

/** What stands over the second dose column: which check, how old, or why there is none. */
export function basisText(device_id: string, handpiece_id: string, mode: string, now_ms: number): string {
  const check = latestCheck(device_id, handpiece_id, mode);
  if (!check) return t.dose.noCheck;
  if (check.verdict === "fail") return t.dose.failed(dateText(check.verified_at));
  return t.dose.checkOf(dateText(check.verified_at), ageText(check.verified_at, now_ms));
}

/** The large line of settings: each value with its unit and its name. */
export function settingParts(settings: Settings): { name: string; field: string; value: string; unit: string }[] {
  const labels = t.plan as unknown as Record<string, string>;
  const order = ["power", "average_power", "peak_power", "pulse_energy", "pulse_duration", "repetition_rate", "pulse_period", "gate_on", "gate_off"];
  return order.filter((f) => settings.emission[f]).map((field) => {
    const { value, unit } = split(settings.emission[field]!);
    const kind = settings.emission["power_kind"];
    const name = field === "power"
      ? (settings.emission["mode"] === "continuous" || !kind ? t.plan.power : (t.plan.kinds[kind] ?? t.plan.power) + (kind === "not stated" ? ` (${t.plan.power.toLowerCase()})` : ""))
      : t.dose.input[field] ?? labels[field] ?? field;
    return { name, field, value: localNumbers(value), unit: unit.replace(/^u(?=[ms])/, "µ") };
  });
}

/** The shortest names that still say which value it is, for the head of a case. */
export function shortName(field: string, settings: Settings): string {
  const short = t.case.short as Record<string, string>;
  const kind = settings.emission["power_kind"];
  return (field === "power" && settings.emission["mode"] !== "continuous" && kind ? short[kind] : short[field]) ?? field;
}

export function settingsText(settings: Settings): string {
  const mode = t.plan.modes[settings.emission["mode"] ?? ""] ?? "";
  const named: Readonly<Record<string, (quantity: string) => string>> = t.case.inLine;
  // A gate's two times and the two kinds of power look alike without their names.
  const parts = settingParts(settings).map(({ field, value, unit }) => {
    const kind = field === "power" && settings.emission["mode"] !== "continuous" ? settings.emission["power_kind"] ?? "" : field;
    const quantity = `${value}\u00a0${unit}`;
    return named[kind]?.(quantity) ?? quantity;
  });
  return [mode, ...parts].filter(Boolean).join(" · ");
}

/** A fraction written as a percentage without inventing digits: "0.93" is "93 %". */
export function percent(fraction: string): string {
  const number = Number(fraction) * 100;
  return localNumbers(`${Number(number.toFixed(1))}\u00a0%`);
}
