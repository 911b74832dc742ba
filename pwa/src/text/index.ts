/** The words of the screens, in the language that is shown. One folder for each language. */
import { effect } from "@preact/signals";
import { firstEnglish } from "./en/first";
import { shown, type FirstWords, type OtherWords } from "./language";

export { allWords, firstSpoken, LANGUAGE_NAMES, LANGUAGES, locale, showLanguage, type Language } from "./language";
export { decimalMark, localNumbers } from "./numbers";

type Part = Readonly<Record<string, unknown>>;

/** The same tree with every leaf read when it is asked for, so that a part held in a constant follows too. */
function live(model: object, now: () => object): PropertyDescriptorMap {
  return Object.fromEntries(Object.entries(model).map(([key, value]: [string, unknown]) => {
    const leaf = typeof value !== "object" || value === null || Array.isArray(value);
    if (leaf) return [key, { enumerable: true, get: () => (now() as Part)[key] }];
    return [key, { enumerable: true, value: Object.defineProperties({}, live(value, () => (now() as Part)[key] as object)) }];
  }));
}

/**
 * The words by area. Beyond `common` and `door` they are there once `allWords` has resolved, which
 * every screen that is fetched waits for. Never keep one string in a constant of a module: that one
 * would not follow the language.
 */
export const t = Object.defineProperties({}, live(firstEnglish, () => shown.value.first)) as FirstWords & OtherWords;

const stop = effect(() => {
  const model = shown.value.others;
  if (model === null || "today" in t) return;
  Object.defineProperties(t, live(model, () => shown.value.others ?? model));
});
void stop;

/** The language that is shown, for the page's `lang`. */
export const language = () => shown.value.language;
