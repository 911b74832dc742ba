import { readdirSync, readFileSync } from "node:fs";
import { afterEach, beforeAll, describe, expect, it, vi } from "vitest";
import { allWords, decimalMark, firstSpoken, language, localNumbers, showLanguage, t } from "../src/text";
import { english } from "../src/text/en";
import { firstEnglish } from "../src/text/en/first";
import { spanish } from "../src/text/es";
import { firstSpanish } from "../src/text/es/first";

/** Words that are the same in both languages: names, letters, Latin, and loan words of the trade. */
const SAME = new Set(["Dosebook", "PIN", "Plan", "No", "A", "B", "Error", "Total", "Normal", "Visible"]);

type Leaf = [path: string, said: string];

/** Every word under its path; what takes arguments is said with some. */
function leaves(tree: unknown, path = ""): Leaf[] {
  if (typeof tree === "string") return [[path, tree]];
  if (typeof tree === "function") {
    return [[path, String((tree as (...given: unknown[]) => string)(...Array.from({ length: tree.length }, () => 2)))]];
  }
  return Object.entries(tree as object).flatMap(([key, part]) => leaves(part, path ? `${path}.${key}` : key));
}

/** Whether a text has a word in it, not only signs, numbers, units and the letters of a formula. */
const hasWord = (text: string): boolean => /\p{L}{3,}/u.test(text.replace(/\b(mm|cm|Hz|min|PDF|CO2)\b/g, ""));

describe("the second language", () => {
  const first = new Map(leaves({ ...firstEnglish, ...english }));
  const second = new Map(leaves({ ...firstSpanish, ...spanish }));

  it("has every word of the first and none besides", () => {
    expect([...first.keys()].filter((path) => !second.has(path))).toEqual([]);
    expect([...second.keys()].filter((path) => !first.has(path))).toEqual([]);
  });

  it("says nothing in the first one's words by mistake", () => {
    const same = [...first].filter(([path, said]) => second.get(path) === said && hasWord(said) && !SAME.has(said.replace(/ \d+$/, "")));
    expect(same).toEqual([]);
  });

  it("is found out where a word is missing or was left in English", () => {
    expect(leaves({ a: "One", b: { c: (n: number) => `${n} passes` } })).toEqual([["a", "One"], ["b.c", "2 passes"]]);
    expect(hasWord("4 P ÷ (π d²)")).toBe(false);
    expect(hasWord("Pass")).toBe(true);
  });
});

describe("a sentence that begins with who did it", () => {
  it.each([["en", english, firstEnglish], ["es", spanish, firstSpanish]])("begins with a capital letter where nobody knows the name (%s)", (_, words, first) => {
    const { erasure, emergency, offers, service } = words;
    const nobody = first.common.unknownPerson;
    const said = [
      erasure.asked(nobody, "1"), erasure.declined(nobody, "1"), erasure.erased(nobody, nobody, "1"), emergency.alarm(nobody, "1"), emergency.alarmWrote(nobody, "1"),
      offers.takenBy(nobody, "1", 2), offers.declinedBy(nobody, "1", "2"), service.release.asked(nobody, "1", "2"),
    ];
    expect(said.filter((one) => !/^\p{Lu}/u.test(one))).toEqual([]);
  });
});

describe("the language that is shown", () => {
  beforeAll(allWords);
  afterEach(async () => {
    vi.unstubAllGlobals();
    await showLanguage("en");
  });

  it("changes every word, also of a part that was taken before", async () => {
    const part = t.common.saved;
    expect(part.tablet).toBe("Saved on this tablet");
    expect(await showLanguage("es")).toBe(true);
    expect(language()).toBe("es");
    expect(part.tablet).toBe("Guardado en esta tableta");
    expect(t.case.pass(2)).toBe("Pasada 2");
  });

  it("is the last one asked for, however long the words take", async () => {
    const [first, second] = await Promise.all([showLanguage("es"), showLanguage("en")]);
    expect([first, second, language()]).toEqual([false, true, "en"]);
  });

  it("is the first of the browser's that the app speaks", () => {
    expect(firstSpoken(["de-CH", "es-MX", "en"])).toBe("es");
    expect(firstSpoken(["fr"])).toBe("en");
    expect(firstSpoken([])).toBe("en");
  });

  // Decimal marks of Unicode CLDR: a comma in es and es-ES, a point in es-MX and in English.
  it.each([["es", ["es-ES"], ","], ["es", ["es-MX"], "."], ["es", ["en-GB"], ","], ["en", ["en-GB"], "."]] as const)(
    "writes numbers in %s with %s set as the browser does", async (chosen, set, mark) => {
      vi.stubGlobal("navigator", { languages: set });
      await showLanguage(chosen);
      expect(decimalMark()).toBe(mark);
      expect(localNumbers("1.5 W, 0.2 mm. Then 3")).toBe(`1${mark}5 W, 0${mark}2 mm. Then 3`);
    });
});

describe("what is said by a code", () => {
  const sources = (folder: string): string => {
    const place = new URL(`../src/${folder}/`, import.meta.url);
    return readdirSync(place).filter((name) => name.endsWith(".ts")).map((name) => readFileSync(new URL(name, place), "utf-8")).join("\n");
  };
  const codes = (text: string, form: RegExp): string[] => [...new Set([...text.matchAll(form)].map(([, code]) => code!))];

  it("has words for every flag of a record", () => {
    const found = codes(sources("session"), /(?:flag\(|note\(draft,)\s*"([a-z_]+)"/g);
    expect(found.length).toBeGreaterThan(20);
    expect(found.filter((code) => !(code in english.notices.flags))).toEqual([]);
  });
  it("has words for every flag that only the server can find", () => {
    const place = new URL("../../api/records/", import.meta.url);
    const texts = readdirSync(place).filter((name) => name.endsWith(".py")).map((name) => readFileSync(new URL(name, place), "utf-8")).join("\n");
    const found = [
      ...codes(texts, /(?:_flag|\.flag|\bnote)\((?:draft,)?\s*"([a-z_]+)"/g),
      // Named before they are used.
      ...codes(texts, /^WITHDRAWN, NOT_IN_FORCE = "([a-z_]+)"/gm), ...codes(texts, /^WITHDRAWN, NOT_IN_FORCE = "[a-z_]+", "([a-z_]+)"/gm),
      ...codes(texts, /^(?:MEANWHILE|(?:MEANWHILE_)?(?:NOT_)?(?:OVERRIDDEN|KNOWN)) = "([a-z_]+)"/gm),
    ];
    expect(found).toEqual(expect.arrayContaining([
      "dose_differs", "content_hash_differs", "signer_not_author", "clock_wrong", "preset_withdrawn", "preset_not_in_force", "delivered_unchecked",
      "out_of_service_overridden", "out_of_service_not_overridden", "out_of_service_not_known", "out_of_service_meanwhile", "out_of_service_meanwhile_not_known",
    ]));
    expect(found.filter((code) => !(code in english.notices.flags))).toEqual([]);
  });
  it("has words for everything that needs attention", () => {
    const found = codes(sources("outbox"), /kind: "pause", code: "([a-z_]+)"/g);
    expect(found.length).toBeGreaterThan(5);
    expect(found.filter((code) => !(code in english.notices.attention))).toEqual([]);
    expect(Object.keys(english.notices.attention).filter((code) => !(code in english.notices.todo))).toEqual([]);
  });
  it("has words for every command that a case refuses", () => {
    const found = codes(sources("session"), /new Refused\("([a-z_]+)"/g);
    expect(found.length).toBeGreaterThan(8);
    // The settings' own refusal is made of the engine's sentences.
    const known: object = { ...english.notices.commands, ...firstEnglish.problems, settings: "" };
    expect(found.filter((code) => !(code in known))).toEqual([]);
  });
});
