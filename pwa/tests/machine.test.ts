/**
 * State machine over the real outbox: saves, sends, lost requests and replies, partial and senseless
 * answers, crashes of the tab. What was shown as saved is on the server exactly once, bytes equal.
 */

import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { append } from "../src/outbox/append";
import { drain } from "../src/outbox/drain";
import { countWaiting, readEvents } from "../src/outbox/read";
import { settle } from "../src/outbox/settle";
import { FakeServer, type Fault } from "./support/server";
import { crashTab, freshTablet, loseStorage, note } from "./support/tablet";

type Step =
  | { kind: "save"; count: number } | { kind: "two saves at once" } | { kind: "save and send at once"; count: number }
  | { kind: "save that fails"; at: number; crash: boolean } | { kind: "send that fails"; at: number; crash: boolean }
  | { kind: "send"; faults: Fault[] } | { kind: "crash" } | { kind: "storage lost" } | { kind: "clock"; ms: number };

const FAULTS: Fault[] = [
  "none", "lost request", "lost reply", "retry in the middle", "500", "503", "413", "401", "empty reply", "reordered reply",
];

const step: fc.Arbitrary<Step> = fc.oneof(
  { weight: 4, arbitrary: fc.record({ kind: fc.constant("save" as const), count: fc.integer({ min: 1, max: 4 }) }) },
  { weight: 1, arbitrary: fc.constant({ kind: "two saves at once" as const }) },
  { weight: 2, arbitrary: fc.record({ kind: fc.constant("save and send at once" as const), count: fc.integer({ min: 1, max: 3 }) }) },
  { weight: 4, arbitrary: fc.record({ kind: fc.constant("send" as const), faults: fc.array(fc.constantFrom(...FAULTS), { maxLength: 3 }) }) },
  { weight: 2, arbitrary: fc.record({
    kind: fc.constantFrom("save that fails" as const, "send that fails" as const),
    at: fc.integer({ min: 1, max: 30 }), crash: fc.boolean(),
  }) },
  { weight: 1, arbitrary: fc.constant({ kind: "crash" as const }) },
  { weight: 1, arbitrary: fc.constant({ kind: "storage lost" as const }) },
  { weight: 1, arbitrary: fc.record({ kind: fc.constant("clock" as const), ms: fc.integer({ min: -10_000_000, max: 10_000_000 }) }) },
);

/** Run the steps, then send until nothing waits; returns what was shown as saved and the server. */
async function run(steps: readonly Step[], stub: "none" | "deletes on a status"): Promise<void> {
  const tablet = await freshTablet();
  const server = new FakeServer();
  const shown: { event_id: string; text: string }[] = [];
  let made = 0;
  const save = async (count: number): Promise<void> => {
    const saved = await append(Array.from({ length: count }, () => note(`n${made++}`)), null);
    for (const event of saved) shown.push({ event_id: event.event_id, text: String(event.payload.text) });
  };
  const send = async (): Promise<string> => {
    const carrier = server.carrier();
    return drain(stub === "none" ? carrier : settlingOnStatus(carrier));
  };
  for (const each of steps) {
    if (each.kind === "save") await save(each.count);
    else if (each.kind === "two saves at once") await Promise.all([save(1), save(2)]);
    else if (each.kind === "save and send at once") await Promise.all([save(each.count), send()]);
    else if (each.kind === "save that fails" || each.kind === "send that fails") {
      await failingAt(each.at, () => (each.kind === "save that fails" ? save(3) : send())).catch(() => undefined);
      if (each.crash) await crashTab();
    } else if (each.kind === "clock") tablet.clock.ms += each.ms;
    else if (each.kind === "send") {
      server.fault.push(...each.faults);
      await send();
      server.fault.length = 0;
    } else if (each.kind === "storage lost") {
      await loseStorage();
    } else {
      await crashTab();
    }
  }
  for (let tries = 0; (await countWaiting()) > 0 && tries < 20; tries += 1) await send();

  const stored = await readEvents();
  expect(stored.map((event) => event.event_id)).toEqual(shown.map((event) => event.event_id));
  expect(stored.every((event) => event.state === "settled")).toBe(true);
  expect(server.held.map((item) => item.event_id)).toEqual(shown.map((event) => event.event_id));
  expect(server.held.map((item) => (JSON.parse(item.payload) as { text: string }).text)).toEqual(shown.map((event) => event.text));
  expect(server.held.map((item) => item.tablet_seq)).toEqual(shown.map((_, index) => index + 1));
  expect(server.raised.filter((code) => code !== "tablet_signed_out")).toEqual([]);
}

/** Let the n-th call to storage or cryptography during `work` fail, wherever it stands. */
async function failingAt(at: number, work: () => Promise<unknown>): Promise<void> {
  let calls = 0;
  const places: [object, string][] = [
    [IDBObjectStore.prototype, "add"], [IDBObjectStore.prototype, "put"],
    [IDBObjectStore.prototype, "get"], [IDBObjectStore.prototype, "getAll"], [IDBIndex.prototype, "getAll"],
    [crypto.subtle, "sign"], [crypto.subtle, "encrypt"], [crypto.subtle, "decrypt"], [crypto.subtle, "digest"],
  ];
  const undo = places.map(([owner, name]) => {
    const own = Object.getOwnPropertyDescriptor(owner, name);
    const real = (owner as Record<string, (...input: unknown[]) => unknown>)[name];
    Object.defineProperty(owner, name, { configurable: true, writable: true, value(this: unknown, ...input: unknown[]) {
      calls += 1;
      if (calls === at) throw new DOMException("it failed here", "UnknownError");
      return real?.apply(this, input);
    } });
    return () => {
      if (own === undefined) delete (owner as Record<string, unknown>)[name];
      else Object.defineProperty(owner, name, own);
    };
  });
  try {
    await work();
  } finally {
    for (const each of undo) each();
  }
}

/** The known-bad stub: takes any 200, and no answer at all, for a yes. */
function settlingOnStatus(carrier: ReturnType<FakeServer["carrier"]>): ReturnType<FakeServer["carrier"]> {
  return {
    ...carrier,
    push: async (items) => {
      const answer = await carrier.push(items);
      await settle(items.map(({ event_id, tablet_seq }) => ({ event_id, tablet_seq, outcome: "applied" })), null);
      return answer.status === 401 || answer.status === 413 ? { status: 200, results: [] } : answer;
    },
  };
}

const SEED = 20261125;
// `bash deploy/check long` runs 5,000 sequences of up to 100 steps.
const LONG = process.env["DOSEBOOK_LONG"] === "1";
const [RUNS, STEPS, PATIENCE_MS] = LONG ? [5_000, 100, 900_000] as const : [200, 50, 60_000] as const;

describe("the outbox as a state machine", () => {
  it("brings what was shown as saved to the server exactly once", async () => {
    await fc.assert(
      fc.asyncProperty(fc.array(step, { maxLength: STEPS }), (steps) => run(steps, "none")),
      { numRuns: RUNS, seed: SEED },
    );
  }, PATIENCE_MS);

  it("fails for a stub that settles on a status", async () => {
    await expect(fc.assert(
      fc.asyncProperty(fc.array(step, { maxLength: 50 }), (steps) => run(steps, "deletes on a status")),
      { numRuns: 200, seed: SEED, endOnFailure: true },
    )).rejects.toThrow();
  }, 60_000);
});
