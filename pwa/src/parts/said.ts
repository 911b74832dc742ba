/** The dose engine's sentences in the language that is shown, found by the code they stand under. */
import { language, localNumbers, t } from "../text";
import { engineWords as english } from "../text/en/engine";

type Code = keyof typeof english;

const FORMS: Readonly<Record<string, string>> = {
  name: "([a-z][a-z0-9 ]*?)",
  names: "([a-z][a-z0-9 ]*)",
  value: "([-+]?\\d[\\d.]*(?:e[-+]?\\d+)?(?: ?[^\\s,;:]+)?)",
  text: "(.+)",
};
const SLOT = /\{(name|names|value|text)\}/g;

interface Pattern { code: Code; form: RegExp; slots: string[] }
let patterns: Pattern[] | null = null;

function compiled(): Pattern[] {
  return Object.entries(english).map(([code, template]) => ({
    code: code as Code,
    slots: [...template.matchAll(SLOT)].map((found) => found[1]!),
    form: new RegExp(`^${template.split(SLOT).map((piece, i) => (i % 2 ? FORMS[piece]! : piece.replace(/[.*+?^$()[\]\\|]/g, "\\$&"))).join("")}$`),
  }));
}

export interface Recognised { code: Code; values: string[]; slots: string[] }

/** The code of one of the engine's sentences with what stands in its places, or null. */
export function recognise(sentence: string): Recognised | null {
  patterns ??= compiled();
  for (const { code, form, slots } of patterns) {
    const found = form.exec(sentence);
    if (found) return { code, values: found.slice(1), slots };
  }
  return null;
}

/** The sentence in the language that is shown; the engine's English where it stands under no code. */
export function said(sentence: string): string {
  if (language() === "en") return sentence;
  const known = recognise(sentence);
  if (!known) return sentence;
  let next = 0;
  return localNumbers(t.engine[known.code].replace(SLOT, (_, slot: string) => {
    const value = known.values[next++] ?? "";
    return slot === "name" ? named(value) : slot === "names" ? value.split(" and ").map(named).join(t.drawing.and) : value;
  }));
}

/** "pulse energy" as the screens call it, inside a sentence. */
function named(words: string): string {
  const key = words.replaceAll(" ", "_");
  const label = t.dose.input[key] ?? t.results[key]?.label ?? words;
  return label.charAt(0).toLowerCase() + label.slice(1);
}

/** The engine writes units as a request may state them; a person reads their symbols. */
const symbols = (words: string): string =>
  words.replace(/(\d) u([ms])\b/g, "$1 µ$2").replace(/([a-z])\^([23])/g, (_, unit: string, power: string) => unit + (power === "2" ? "²" : "³"));

/** The engine answers in phrases; a screen shows sentences. */
export const sentence = (text: string): string => {
  const words = symbols(said(text));
  const begun = words.charAt(0).toUpperCase() + words.slice(1);
  const whole = begun.replace(/(\d) (?=(?:[kmµu]?[WJsm]|Hz|%)(?![a-z]))/g, "$1\u00a0");
  return /[.!?]$/.test(whole) ? whole : `${whole}.`;
};
