import { describe, expect, it } from "vitest";
import vectors from "../../tests/vectors/presets.json";
import { applied, lifted, withOwnEntries, type Said, type Verdict } from "../src/session/preset-fold";
import type { PresetDocument } from "../src/session/types";

type Step = [string, string, Verdict, number | null, string | null, object];
const ids = (list: { event_id: string }[]) => list.map((one) => one.event_id);

function said([event_id, type, , base_version, corrects, payload]: Step): Said {
  return {
    event_id, payload,
    body: { type, entity_id: "s1", occurred_at: "2026-03-02T09:30:00.000+01:00", actor_id: "person-1", base_version, corrects },
  };
}
const comeTo = (steps: Step[]) =>
  steps.reduce<PresetDocument | null>((known, step) => applied(known, said(step), step[2]), null)!;

function inShort(document: PresetDocument, expected: object): object {
  const short = Object.fromEntries(Object.keys(expected).map((name) => [name, (document as unknown as Record<string, unknown>)[name] ?? null]));
  return {
    ...short, versions: ids(document.versions), drafts: ids(document.drafts), set_aside: ids(document.set_aside),
    withdrawals: ids(document.withdrawals), withdrawn: document.withdrawn?.event_id ?? null,
  };
}

describe("what has been said about a preset", () => {
  for (const { name, steps, expected } of vectors.cases) {
    it(name, () => expect(inShort(comeTo(steps as unknown as Step[]), expected)).toEqual(expected));
  }
});

describe("what this tablet has said beyond the server's copy", () => {
  const first: Step = ["e1", "preset.published", "applied", null, null, { version: 1, name: "One" }];
  const second: Step = ["e2", "preset.published", "applied", 1, null, { version: 2, name: "Two" }];
  const other: Step = ["e3", "preset.published", "conflict", 1, null, { version: 2, name: "Other two" }];
  const waiting = (step: Step) => ({ ...said(step), state: "waiting" as const, result: null });
  const settled = (step: Step, outcome: string) => ({ ...said(step), state: "settled" as const, result: { outcome } });

  it("counts at once", () => {
    const shown = withOwnEntries(comeTo([first]), [waiting(second)])!;
    expect([shown.version, shown.name, ids(shown.versions)]).toEqual([2, "Two", ["e1", "e2"]]);
    expect(withOwnEntries(null, [waiting(first)])!.name).toBe("One");
  });

  it("is a draft as soon as the server's copy shows that somebody was first", () => {
    const shown = withOwnEntries(comeTo([first, second]), [waiting(other)])!;
    expect([shown.name, ids(shown.drafts)]).toEqual(["Two", ["e3"]]);
    expect(ids(withOwnEntries(comeTo([first, second]), [settled(other, "conflict")])!.drafts)).toEqual(["e3"]);
  });

  it("is not said twice when the copy holds it", () => {
    const copy = comeTo([first, second, other]);
    expect(withOwnEntries(copy, [settled(first, "applied"), settled(second, "applied"), settled(other, "conflict")])).toEqual(copy);
    const aside: Step = ["e4", "preset.withdrawn", "applied", null, "e3", { reason: "no" }];
    const after = applied(copy, said(aside), "applied");
    expect(withOwnEntries(after, [settled(aside, "applied")])).toEqual(after);
  });

  it("does not count when it was put aside", () => {
    const copy = comeTo([first]);
    expect(withOwnEntries(copy, [settled(second, "quarantined")])).toEqual(copy);
    expect(withOwnEntries(null, [])).toBeNull();
  });
});

describe("a document of the first program", () => {
  const old = {
    preset_id: "s1", version: 1, name: "One", event_id: "e1", status: "current", withdrawn: null, drafts: [],
  } as unknown as PresetDocument;

  it("gets the version in force as its history", () => {
    expect([ids(lifted(old).versions), lifted(old).withdrawals]).toEqual([["e1"], []]);
    const next = applied(old, said(["e2", "preset.published", "applied", 1, null, { version: 2, name: "Two" }]), "applied");
    expect(ids(next.versions)).toEqual(["e1", "e2"]);
  });

  it("is not followed again by what it was made of", () => {
    const first = { ...said(["e1", "preset.published", "applied", null, null, { version: 1, name: "One" }]), state: "settled" as const, result: { outcome: "applied" } };
    expect(withOwnEntries(old, [first])).toEqual(old);
  });
});
