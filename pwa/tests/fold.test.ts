/** The record that events come to, against the expectations that Python reads too. */
import { readFileSync } from "node:fs";
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { contentHash, firstOf, fold, type FoldEvent } from "../src/session/fold";
import { inOrder } from "../src/session/order";

interface Short {
  id: string; tablet: string; seq: number; by: string; type: string; corrects?: string; at: string;
  payload: Record<string, unknown> | null;
}
interface Case {
  name: string; of: string[]; order: string[]; effective: string[]; codes: [string, string][];
  content_hash?: string; expect: Record<string, unknown>;
}
const vectors = JSON.parse(
  readFileSync(new URL("../../tests/vectors/fold.json", import.meta.url), "utf8"),
) as { defaults: object; events: Record<string, Short>; cases: Case[] };

function event(name: string): FoldEvent {
  const short = vectors.events[name]!;
  const body = {
    ...vectors.defaults,
    event_id: short.id,
    tablet_id: short.tablet,
    tablet_seq: short.seq,
    actor_id: short.by,
    type: short.type,
    corrects: short.corrects ?? null,
    occurred_at: short.at,
  };
  return { body, payload: short.payload, body_hash: short.id.slice(1).repeat(32) } as FoldEvent;
}

function at(document: unknown, path: string): unknown {
  return path.split(".").reduce<unknown>(
    (inner, step) => (inner as Record<string, unknown> | null | undefined)?.[step] ?? null, document);
}

/** Exactly alike, but numbers to 1e-9 of themselves. */
function alike(found: unknown, wanted: unknown): boolean {
  if (typeof wanted === "number") {
    return typeof found === "number" && Math.abs(found - wanted) <= 1e-9 * Math.max(Math.abs(found), Math.abs(wanted));
  }
  if (wanted === null || typeof wanted !== "object") return found === wanted;
  if (found === null || typeof found !== "object" || Array.isArray(found) !== Array.isArray(wanted)) return false;
  const keys = Object.keys(wanted);
  return Object.keys(found).length === keys.length
    && keys.every((key) => alike((found as never)[key], (wanted as never)[key]));
}

describe("fold", () => {
  for (const one of vectors.cases) {
    it(one.name, async () => {
      const events = one.of.map(event);
      const record = fold(events);
      expect(record.history.map((line) => line.event_id)).toEqual(one.order);
      expect(record.history.filter((line) => line.effective).map((line) => line.event_id)).toEqual(one.effective);
      expect(record.flags.map((flag) => [flag.code, flag.event_id])).toEqual(one.codes);
      for (const [path, wanted] of Object.entries(one.expect)) {
        const found = at(record, path);
        expect(alike(found, wanted), `${path}: ${JSON.stringify(found)} is not ${JSON.stringify(wanted)}`).toBe(true);
      }
      if (one.content_hash !== undefined) {
        expect(await contentHash(events, record.sign_off!.event_id)).toBe(one.content_hash);
      }
    });
  }

  it("compares so that it can fail", () => {
    expect(alike({ a: 1 }, { a: 1, b: null })).toBe(false);
    expect(alike(1 + 1e-8, 1)).toBe(false);
    expect(alike(null, 0)).toBe(false);
  });

  it("does not depend on the order of arrival", () => {
    const names = Object.keys(vectors.events).filter((name) => name !== "erased");
    fc.assert(fc.property(
      fc.uniqueArray(fc.constantFrom(...names), { minLength: 1, maxLength: 12 })
        .chain((some) => fc.tuple(fc.constant(some), fc.shuffledSubarray(some, { minLength: some.length }))),
      ([some, shuffled]) => {
        expect(fold([...shuffled.map(event), ...some.slice(0, 2).map(event)])).toEqual(fold(some.map(event)));
      }), { numRuns: 100, seed: 4711 });
  });

  it("does not depend on the order of corrections, and counts versions without holes", () => {
    const names = Object.keys(vectors.events).filter((name) => name !== "erased");
    const corrects = (e: FoldEvent): boolean => e.body.corrects !== null;
    fc.assert(fc.property(
      fc.uniqueArray(fc.constantFrom(...names), { minLength: 1, maxLength: 14 })
        .chain((some) => fc.tuple(fc.constant(some), fc.shuffledSubarray(some, { minLength: some.length }))),
      ([some, shuffled]) => {
        const events = some.map(event);
        const corrections = shuffled.map(event).filter(corrects);
        const firsts = events.filter((e) => !corrects(e));
        const record = fold(events);
        expect(fold([...firsts, ...corrections])).toEqual(record);
        expect(fold([...corrections, ...firsts])).toEqual(record);
        expect(record.versions.map((one) => one.version)).toEqual(record.versions.map((_, at) => at + 1));
        expect(record.version > 0).toBe(record.sign_off !== null);
        expect(record.status === "void").toBe(record.voided !== null);
        expect(record.pauses.filter((one) => one.to_at === null).length).toBeLessThanOrEqual(1);
        const moved = record.reattributions[record.reattributions.length - 1];
        if (moved) expect(record.patient).toEqual(moved.to);
      }), { numRuns: 100, seed: 4711 });
  });

  it("hashes for a signature to be made what comes before it", async () => {
    const events = ["open", "pass4", "end"].map(event);
    const whole = vectors.cases.find((one) => one.name === "an addendum")!;
    expect(await contentHash(inOrder(events).reverse())).toBe(whole.content_hash);
  });

  it("finds the first of a chain of corrections", () => {
    const { history } = fold(["open", "pass4", "pass4-as-5", "pass5-as-7"].map(event));
    expect(firstOf(history, "e22")).toBe("e03");
    expect(firstOf(history, "e03")).toBe("e03");
  });

  it("throws without events", () => {
    expect(() => fold([])).toThrow(TypeError);
  });
});
