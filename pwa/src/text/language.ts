/** The language that is shown. English comes with the app, every other one is fetched when it is chosen. */
import { signal } from "@preact/signals";
import { english } from "./en";
import type { Shape } from "./shape";

export type Words = Shape<typeof english>;
export const LANGUAGES = ["en", "es"] as const;
export type Language = (typeof LANGUAGES)[number];

/** Each language by its own name, so that whoever needs it finds it. */
export const LANGUAGE_NAMES: Readonly<Record<Language, string>> = { en: "English", es: "Español" };

const FETCHED: Readonly<Record<Language, () => Promise<Words>>> = {
  en: () => Promise.resolve(english),
  es: () => import("./es").then((m) => m.spanish),
};

export const shown = signal<{ language: Language; words: Words }>({ language: "en", words: english });
let wanted: Language = "en";

/**
 * Show another language once its words are here; answers whether it is shown.
 *
 * Nothing is thrown away: the screens stay as they are and say the same in other words.
 */
export async function showLanguage(language: Language): Promise<boolean> {
  wanted = language;
  const words = await FETCHED[language]().catch(() => null);
  // Chosen again meanwhile: the last choice counts.
  if (words === null || wanted !== language) return false;
  shown.value = { language, words };
  return true;
}

/** The first of a browser's languages that the app speaks, else English. */
export function firstSpoken(preferred: readonly string[]): Language {
  const primary = preferred.map((tag) => tag.toLowerCase().split("-")[0]);
  return LANGUAGES.find((one) => one === primary.find((tag) => (LANGUAGES as readonly string[]).includes(tag ?? ""))) ?? "en";
}

/** How dates and numbers are written: as where the browser is set to, if it is the language shown. */
export function locale(): string {
  const { language } = shown.value;
  const own = globalThis.navigator?.languages ?? [];
  return own.find((tag) => tag.toLowerCase().split("-")[0] === language) ?? language;
}
