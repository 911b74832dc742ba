/** Time zones as the browser knows them, looked for by the words of their names. Pure but for the list. */

/** Their names (IANA); none where the browser cannot say, and the name is typed in full. */
export const zones = (): string[] => {
  const all = (Intl as { supportedValuesOf?: (what: "timeZone") => string[] }).supportedValuesOf?.("timeZone") ?? [];
  return all.length === 0 ? [] : [...new Set([...all, "UTC"])];
};

const plain = (text: string): string => text.toLowerCase().normalize("NFKD").replace(/\p{M}/gu, "").replace(/[_/-]+/g, " ").trim();

/** Those of `all` in whose names each word of `wanted` begins a word: whole names first, in order, at most `most`. */
export function zonesLike(all: readonly string[], wanted: string, most: number): string[] {
  const words = plain(wanted).split(" ").filter(Boolean);
  if (words.length === 0) return [];
  const fits = all.filter((zone) => {
    const parts = plain(zone).split(" ");
    return words.every((word) => parts.some((part) => part.startsWith(word)));
  });
  // What somebody types is mostly the city, which stands last.
  const city = (zone: string) => (plain(zone.split("/").at(-1) ?? zone).startsWith(words.join(" ")) ? 0 : 1);
  return fits.sort((a, b) => city(a) - city(b) || a.localeCompare(b)).slice(0, most);
}

/** A zone's name as it is read. */
export const zoneText = (zone: string): string => zone.replace(/_/g, " ");
