/** What is due when, and how a register's document comes about: the same vectors as the server's. */
import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import { dueRows, type DueDocuments, type DueRow } from "../src/session/due";
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
