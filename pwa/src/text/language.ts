/**
 * The language that is shown.
 *
 * Each language comes in two parts: the first words, for the screens before anybody is signed in, and
 * the others, fetched while those are in use. English's first words come with the app.
 */
import { signal } from "@preact/signals";
import type { english } from "./en";
import { firstEnglish } from "./en/first";
import type { Shape } from "./shape";

export type FirstWords = Shape<typeof firstEnglish>;
export type OtherWords = Shape<typeof english>;
export const LANGUAGES = ["en", "es"] as const;
export type Language = (typeof LANGUAGES)[number];

/** Each language by its own name, so that whoever needs it finds it. */
export const LANGUAGE_NAMES: Readonly<Record<Language, string>> = { en: "English", es: "Español" };

interface Source { first: () => Promise<FirstWords>; others: () => Promise<OtherWords> }
const SOURCES: Readonly<Record<Language, Source>> = {
  en: { first: () => Promise.resolve(firstEnglish), others: () => import("./en").then((m) => m.english) },
  es: { first: () => import("./es/first").then((m) => m.firstSpanish), others: () => import("./es").then((m) => m.spanish) },
};

interface Shown { language: Language; first: FirstWords; others: OtherWords | null }
export const shown = signal<Shown>({ language: "en", first: firstEnglish, others: null });
let wanted: Language = "en";
let needed = false;

/**
 * Show another language once its words are here; answers whether it is shown.
 *
 * Nothing is thrown away: the screens stay as they are and say the same in other words.
 */
export async function showLanguage(language: Language): Promise<boolean> {
  wanted = language;
  const { first, others } = SOURCES[language];
  const words = await Promise.all([first(), needed ? others() : null]).catch(() => null);
  // Chosen again meanwhile: the last choice counts.
  if (words === null || wanted !== language) return false;
  const before = shown.value;
  shown.value = { language, first: words[0], others: words[1] ?? (before.language === language ? before.others : null) };
  return true;
}

/** Fetch the other words as well, from now on for every language; rejects where they cannot be had. */
export async function allWords(): Promise<void> {
  needed = true;
  while (shown.value.others === null) {
    const { language } = shown.value;
    const others = await SOURCES[language].others();
    if (shown.value.language === language) shown.value = { ...shown.value, others };
  }
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
