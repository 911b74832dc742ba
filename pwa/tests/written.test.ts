import { readFileSync } from "node:fs";
import { beforeAll, beforeEach, describe, expect, it } from "vitest";
import type { StoredEvent } from "../src/outbox/read";
import { fold } from "../src/session/fold";
import { counted, eventsOf, forgetBelow, forgetWritten, ownRecords, readyToFold, savedOf, take, waitingRecords } from "../src/session/written";

const vectors = JSON.parse(readFileSync("../tests/vectors/fold.json", "utf8")) as {
  events: Record<string, { id: string; seq: number; by: string; type: string; at: string; payload: Record<string, unknown>; corrects?: string }>;
  cases: { name: string; of: string[] }[];
};
const WHOLE = vectors.cases.find((one) => one.name === "a whole procedure")!.of.slice(0, -1);

/** The entries of one procedure as this tablet stores them, `n` making it another one. */
function procedure(n: number): StoredEvent[] {
  return WHOLE.map((name, place) => {
    const given = vectors.events[name]!;
    const event_id = `${given.id}-${n}`;
    return {
      tablet_seq: n * 100 + place + 1, event_id, state: "settled", result: { outcome: "applied" }, saved_at: given.at,
      body_hash: `${String(n).padStart(2, "0")}${String(place).padStart(2, "0")}`.repeat(16), payload: given.payload,
      body: {
        event_id, tablet_id: "A", tablet_seq: n * 100 + place + 1, entity_id: `r${n}`, actor_id: given.by, type: given.type,
        occurred_at: given.at, corrects: null, location_id: "here", zone: "UTC", app_build: "1", engine_version: "1",
        base_version: null, v: 1, clock_offset_ms: null, payload_hash: "",
      },
    } as StoredEvent;
  });
}

/** A fixed order that is not the one they were made in (linear congruential, seed printed in the name). */
function shuffled<T>(list: readonly T[], seed: number): T[] {
  const left = [...list];
  const out: T[] = [];
  for (let x = seed; left.length > 0; ) {
    x = (x * 1_103_515_245 + 12_345) % 2_147_483_648;
    out.push(left.splice(x % left.length, 1)[0]!);
  }
  return out;
}

beforeAll(readyToFold);
beforeEach(forgetWritten);

describe("what this tablet wrote, taken in piece by piece", () => {
  it.each([1, 7, 42])("comes to the same records in any order of pages (seed %i)", (seed) => {
    const all = [1, 2, 3, 4].flatMap(procedure);
    const pages = shuffled(all, seed);
    for (let from = 0; from < pages.length; from += 5) take(pages.slice(from, from + 5));
    const byId = new Map(ownRecords.value.map((doc) => [doc.record_id, doc]));
    expect(byId.size).toBe(4);
    for (const n of [1, 2, 3, 4]) expect(byId.get(`r${n}`)).toEqual(fold(procedure(n)));
  });

  it.each([1, 7, 42])("shows them the newest first, whenever an entry comes (seed %i)", (seed) => {
    const begun = (n: number) => procedure(n).map((event) => ({
      ...event, payload: event.body.type === "procedure.opened" ? { ...event.payload, started_at: `2026-03-0${n}T09:00:00.000+00:00` } : event.payload,
    }));
    const pages = shuffled([1, 2, 3, 4, 5].flatMap(begun), seed);
    for (let from = 0; from < pages.length; from += 5) {
      take(pages.slice(from, from + 5));
      const days = ownRecords.value.map((doc) => doc.started_at!);
      expect(days).toEqual([...days].sort().reverse());
    }
    expect(ownRecords.value.map((doc) => doc.record_id)).toEqual(["r5", "r4", "r3", "r2", "r1"]);
  });

  it("leaves the records alone that an entry does not belong to", () => {
    take([1, 2].flatMap(procedure));
    const before = ownRecords.value.find((doc) => doc.record_id === "r1");
    const [opened] = procedure(3);
    take([opened!]);
    expect(ownRecords.value).toHaveLength(3);
    expect(ownRecords.value.find((doc) => doc.record_id === "r1")).toBe(before);
  });

  it("does not show a record of which it has not read the opening", () => {
    take(procedure(1).slice(1));
    expect(ownRecords.value).toEqual([]);
    take(procedure(1).slice(0, 1));
    expect(ownRecords.value).toHaveLength(1);
  });

  it("knows what waits, and what the server answered since", () => {
    const waiting = procedure(1).map((e): StoredEvent => ({ ...e, state: "waiting", result: null }));
    take(waiting);
    expect(waitingRecords()).toEqual(["r1"]);
    expect(counted()).toMatchObject({ waiting: waiting.length, waiting_from: 101 });
    expect(savedOf("r1", false).state).toBe("tablet");
    take(procedure(1));
    expect(counted()).toMatchObject({ waiting: 0, waiting_from: null });
    expect(savedOf("r1", false).state).toBe("server");
    const placed = procedure(1).map((e, n): StoredEvent => ({ ...e, result: { outcome: "applied", position: 40 + n } }));
    take(placed);
    const last = 40 + placed.length - 1;
    expect([null, last - 1, last].map((durable) => savedOf("r1", false, durable).state)).toEqual(["server", "server", "backup"]);
    take([{ ...placed[0]!, state: "waiting", result: null }]);
    expect(savedOf("r1", false, last).state).toBe("tablet");
    take(procedure(1));
    const refused = { ...procedure(1)[2]!, result: { outcome: "quarantined", reason: "schema" } } as StoredEvent;
    take([refused]);
    expect(savedOf("r1", false)).toMatchObject({ state: "attention", text: "schema" });
    expect(eventsOf("r1")).toHaveLength(WHOLE.length);
  });

  it("drops what the outbox dropped", () => {
    take([1, 2].flatMap(procedure));
    forgetBelow(200);
    expect(ownRecords.value.map((doc) => doc.record_id)).toEqual(["r2"]);
    expect(counted().held).toBe(WHOLE.length);
  });
});
