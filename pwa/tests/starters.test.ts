import { afterEach, beforeAll, describe, expect, it } from "vitest";
import { DEVICE_KINDS } from "../src/session/check-verdict";
import { KINDS as AROUND } from "../src/session/lists";
import { fromStarter, isSound, newForm, problems, toPublish, untouched } from "../src/screens/lists/edit-form";
import { allWords, showLanguage } from "../src/text";
import { starterLists as english } from "../src/text/en/starters";
import { starterLists as spanish } from "../src/text/es/starters";
import { starterList } from "../src/text/starters";

const KINDS = [...AROUND, ...DEVICE_KINDS];

describe("lists to begin from", () => {
  beforeAll(allWords);
  afterEach(async () => { await showLanguage("en"); });

  it.each(KINDS)("are there for %s, and could be published as they are", (kind) => {
    const form = fromStarter(newForm(kind, "x"), english[kind]);
    expect(isSound(problems(form, "2026-11-28"))).toBe(true);
    expect(untouched(form)).toBe(false);
    expect(untouched(newForm(kind, "x"))).toBe(true);
    // That they began so is for whoever writes, not for the list.
    expect(Object.keys(toPublish(form))).not.toContain("starter");
  });

  it.each(KINDS)("ask the same for %s in both languages, in other words", (kind) => {
    const shape = (list: typeof english.pause) => Object.entries(list.items).map(([name, item]) => [name, item.not_applicable, item.group === "", item.why === "", item.beside]);
    expect(shape(spanish[kind])).toEqual(shape(english[kind]));
    const texts = (list: typeof english.pause) => [list.title, ...Object.values(list.items).map((item) => item.text)];
    expect(texts(spanish[kind]).filter((text) => texts(english[kind]).includes(text))).toEqual([]);
  });

  it("come in the language that is shown", async () => {
    expect((await starterList("pause"))?.title).toBe("During a pause");
    await showLanguage("es");
    expect((await starterList("pause"))?.title).toBe("Durante una pausa");
    expect(await starterList("no such kind")).toBeNull();
  });
});
