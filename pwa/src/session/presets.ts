/** Finding one of the practice's presets: by words, by numbers, by what a person used last. Pure. */
import type { RecordDocument } from "./fold";
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
