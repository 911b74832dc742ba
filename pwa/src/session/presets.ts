/** Finding one of the practice's presets, and comparing two of them. Pure. */
import type { RecordDocument } from "./fold";
import { split } from "./settings";
import type { Preset } from "./types";

const UNITS = new Set(["w", "mw", "j", "mj", "us", "ms", "s", "hz", "mm", "um"]);
const NUMBER = /^[0-9]+(\.[0-9]+)?$/;

/** What a preset can be found by; `names` are the words a person reads beside it. */
export function foundBy(preset: Preset, names: readonly (string | null | undefined)[]): string {
  const { emission, spot, motion } = preset.settings;
  const numbers = [...Object.values(emission), ...Object.values(spot ?? {}), ...Object.values(motion ?? {})];
  return plain([preset.name, preset.note, ...names, ...numbers].filter(Boolean).join(" | "));
}

/**
 * Whether everything that was typed stands in `text`, in any order.
 *
 * A word may stand inside another; a number begins one ("25" finds 250, not 125), and a number
 * with its unit is just that value ("3 W" finds neither 3.5 W nor 300 us).
 */
export function matches(text: string, typed: string): boolean {
  return asked(typed).every(({ words, kind }) =>
    kind === "word" ? text.includes(words)
    : ` ${text} `.includes(kind === "value" ? ` ${words} ` : ` ${words}`));
}

interface Asked { kind: "word" | "number" | "value"; words: string }

function asked(typed: string): Asked[] {
  const tokens = plain(typed).split(" ").filter((one) => one !== "" && one !== "|");
  const found: Asked[] = [];
  for (let i = 0; i < tokens.length; i += 1) {
    const token = tokens[i]!;
    const next = tokens[i + 1];
    if (!NUMBER.test(token)) found.push({ kind: "word", words: token });
    else if (next !== undefined && UNITS.has(next)) {
      found.push({ kind: "value", words: `${token} ${next}` });
      i += 1;
    } else found.push({ kind: "number", words: token });
  }
  return found;
}

/** Lower case, without accents, a point for the decimal comma, numbers apart from their units. */
function plain(text: string): string {
  return text.toLowerCase().normalize("NFKD").replace(/[\u0300-\u036f]/g, "")
    .replace(/\u03bc/g, "u")
    .replace(/([0-9]),([0-9])/g, "$1.$2")
    .replace(/([0-9])([a-z])/g, "$1 $2")
    .replace(/\s+/g, " ").trim();
}

/** Ids of the presets that a person has started passes from, the last one first, each once. */
export function usedLast(records: readonly RecordDocument[], person_id: string): string[] {
  const uses: { preset_id: string; at: number }[] = [];
  for (const record of records) {
    const by = new Map(record.history.map((line) => [line.event_id, line.by]));
    for (const pass of record.passes) {
      if (pass.preset === null || by.get(pass.event_id) !== person_id) continue;
      uses.push({ preset_id: pass.preset.preset_id, at: Date.parse(pass.started_at) });
    }
  }
  return [...new Set(uses.sort((a, b) => b.at - a.at).map((use) => use.preset_id))];
}

/** In this order the fields of a preset are shown; what is not named here follows. */
const ORDER = [
  "name", "procedure_kind_id", "device_id", "handpiece_id", "emission.mode", "emission.power", "emission.power_kind",
  "emission.average_power", "emission.peak_power", "emission.pulse_energy", "emission.pulse_duration", "emission.repetition_rate",
  "emission.pulse_period", "emission.duty_cycle", "emission.pulse_shape", "emission.gate_on", "emission.gate_off",
  "spot.diameter", "spot.diameter_definition", "spot_known", "motion.speed", "focus", "coolant", "note", "reviewed_by",
];

/** What a preset says, by path; what it does not say is not there. */
export function fieldsOf(preset: Partial<Preset>): Map<string, string> {
  const found = new Map<string, string>();
  const put = (path: string, value: unknown) => { if (value != null && value !== "") found.set(path, String(value)); };
  for (const path of ["name", "procedure_kind_id", "device_id", "handpiece_id", "spot_known", "focus", "coolant", "note", "reviewed_by"] as const) {
    put(path, preset[path]);
  }
  for (const [group, values] of Object.entries(preset.settings ?? {})) {
    if (typeof values === "object") for (const [name, value] of Object.entries(values)) put(`${group}.${name}`, value);
    else put(group, values);
  }
  return found;
}

export interface Compared { path: string; left: string | null; right: string | null; differs: boolean }

/** Every field that one of the two has, in the order of the screens; "4 W" and "4.0 W" do not differ. */
export function compared(left: Partial<Preset>, right: Partial<Preset>): Compared[] {
  const [a, b] = [fieldsOf(left), fieldsOf(right)];
  const place = (path: string) => { const at = ORDER.indexOf(path); return at < 0 ? ORDER.length : at; };
  return [...new Set([...a.keys(), ...b.keys()])].sort((x, y) => place(x) - place(y)).map((path) => {
    const [own, other] = [a.get(path) ?? null, b.get(path) ?? null];
    return { path, left: own, right: other, differs: !sameValue(own, other) };
  });
}

function sameValue(a: string | null, b: string | null): boolean {
  if (a === null || b === null || a === b) return a === b;
  const [x, y] = [split(a), split(b)];
  return x.value !== "" && x.unit === y.unit && Number(x.value) === Number(y.value);
}
