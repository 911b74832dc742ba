/** What is due when, and how a register's document comes about: the same vectors as the server's. */
import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import { dueRows, isDueAgain, type DueDocuments, type DueRow } from "../src/session/due";
import { foldRegister, type Said } from "../src/session/register-fold";

const vectors = (name: string) => JSON.parse(readFileSync(new URL(`../../tests/vectors/${name}.json`, import.meta.url), "utf8")) as { cases: unknown[] };
interface Due { name: string; at: string; zone: string; documents: DueDocuments; rows: DueRow[] }
type Loose = Record<string, unknown>;
interface Fold { name: string; known?: Loose; entries: { body: Said; payload: Loose }[]; document: Loose }

describe("what is due", () => {
  it.each(vectors("due").cases as Due[])("$name", ({ at, zone, documents, rows }) => {
    expect(dueRows(documents, Date.parse(at), zone)).toEqual(rows);
  });
});

describe("a register's document", () => {
  it.each(vectors("registers").cases as Fold[])("$name", ({ known, entries, document }) => {
    expect(entries.reduce<Loose | null>((doc, { body, payload }) => foldRegister(doc, body, payload), known ?? null)).toEqual(document);
  });

  it("does not grow for ever", () => {
    let doc: Loose | null = null;
    for (let n = 1; n <= 30; n += 1) {
      doc = foldRegister(doc, { event_id: `e${n}`, type: "key.moved", entity_id: "k1", actor_id: "p1", occurred_at: `2026-03-${String(n).padStart(2, "0")}T09:00:00.000+01:00` }, { direction: "out" });
    }
    expect((doc!["movements"] as { event_id: string }[]).map(({ event_id }) => event_id)).toEqual(Array.from({ length: 20 }, (_, i) => `e${i + 11}`));
  });
});

describe("what is planned again and again", () => {
  const WEEKLY = { every_days: 7, every_months: null };
  // Berlin is an hour ahead of UTC in winter, two from 29 March 2026 on (EU summer time): days are the wall's.
  it.each([
    ["2026-03-02T22:59:00Z", "2026-03-09T22:59:00Z", true], ["2026-03-02T22:59:00Z", "2026-03-08T22:59:00Z", false],
    ["2026-03-02T23:01:00Z", "2026-03-09T22:59:00Z", false], ["2026-03-24T22:30:00Z", "2026-03-30T22:30:00Z", true], ["2026-03-24T22:30:00Z", "2026-03-30T21:30:00Z", false],
  ])("done at %s is due again at %s: %s", (done, now, due) => {
    expect(isDueAgain(done, WEEKLY, Date.parse(now), "Europe/Berlin")).toBe(due);
  });

  it("is due a month later on the last day of a shorter month, by the practice's own rule", () => {
    const rule = { every_days: null, every_months: 1 };
    expect(isDueAgain("2026-01-31T09:00:00+01:00", rule, Date.parse("2026-02-27T22:59:00Z"), "Europe/Berlin")).toBe(false);
    expect(isDueAgain("2026-01-31T09:00:00+01:00", rule, Date.parse("2026-02-27T23:00:00Z"), "Europe/Berlin")).toBe(true);
  });
});
