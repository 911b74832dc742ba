/** Maintenance and incidents: the same documents as the server makes of the same entries. */
import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import { foldIncident, foldMaintenance } from "../src/session/upkeep-fold";
import type { Said } from "../src/session/register-fold";

type Loose = Record<string, unknown>;
interface Case { name: string; entries: { body: Said; payload: Loose }[]; document: Loose }
const { cases } = JSON.parse(readFileSync(new URL("../../tests/vectors/upkeep.json", import.meta.url), "utf8")) as { cases: Case[] };

describe("what was said about maintenance and incidents", () => {
  it.each(cases)("$name", ({ entries, document }) => {
    const fold = "incident_id" in document ? foldIncident : foldMaintenance;
    const before = structuredClone(entries);
    expect(entries.reduce<Loose | null>((known, { body, payload }) => fold(known, body, payload), null)).toEqual(document);
    expect(entries).toEqual(before);
  });
});
