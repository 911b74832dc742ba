/** The words of the screens, in the language that is shown. One folder for each language. */
import { english } from "./en";
import { shown, type Words } from "./language";

export { firstSpoken, LANGUAGE_NAMES, LANGUAGES, locale, showLanguage, type Language } from "./language";
export { decimalMark, localNumbers } from "./numbers";

type Part = Readonly<Record<string, unknown>>;

/** The same tree with every leaf read when it is asked for, so that a part held in a constant follows too. */
function live(model: Part, now: () => Part): Part {
  return Object.defineProperties({}, Object.fromEntries(Object.entries(model).map(([key, value]) => {
    if (typeof value !== "object" || value === null) return [key, { enumerable: true, get: () => now()[key] }];
    return [key, { enumerable: true, value: live(value as Part, () => now()[key] as Part) }];
  })));
}

/** Never keep one of its strings in a constant of a module: that one would not follow the language. */
export const t = live(english, () => shown.value.words as unknown as Part) as unknown as Words;

/** The language that is shown, for the page's `lang`. */
export const language = () => shown.value.language;
