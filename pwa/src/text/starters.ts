/** The lists to begin from, in the language shown; fetched only by whoever writes a first list. */
import type { StarterList } from "./en/starters";
import { shown, type Language } from "./language";

const SOURCES: Readonly<Record<Language, () => Promise<{ starterLists: Record<string, StarterList> }>>> = {
  en: () => import("./en/starters"),
  es: () => import("./es/starters"),
};

/** Null where there is none of this kind; rejects where it cannot be fetched. */
export async function starterList(kind: string): Promise<StarterList | null> {
  return (await SOURCES[shown.value.language]()).starterLists[kind] ?? null;
}
