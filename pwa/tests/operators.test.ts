/** What stood against an operator, by the vectors that the server is held to as well (their rule is said there). */
import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import { findings, type Operator } from "../src/session/operators";

interface Case { name: string; at: string; day: string; device_id: string | null; procedure_kind_id: string | null; expect: unknown[] }
const vectors = JSON.parse(readFileSync(new URL("../../tests/vectors/operators.json", import.meta.url), "utf8")) as {
  person: Operator; cases: Case[]; as_before: { name: string; licence_expires: string | null; day: string; expect: unknown[] }[];
};
const short = (found: ReturnType<typeof findings>) => found.map((one) => [one.code, one.kind, one.expires_on]);

describe("what stood against an operator", () => {
  it.each(vectors.cases.map((one) => [one.name, one] as const))("%s", (_, one) => {
    const { at, day, device_id, procedure_kind_id } = one;
    expect(short(findings(vectors.person, { at_ms: Date.parse(at), day, device_id, procedure_kind_id }))).toEqual(one.expect);
  });

  it.each(vectors.as_before.map((one) => [one.name, one] as const))("%s", (_, one) => {
    const at_ms = Date.parse(`${one.day}T12:00:00Z`);
    expect(short(findings({ licence_expires: one.licence_expires }, { at_ms, day: one.day, device_id: "laser-a", procedure_kind_id: null }))).toEqual(one.expect);
  });
});
