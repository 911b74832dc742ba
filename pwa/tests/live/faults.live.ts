/**
 * The tablet's own program against the real server, with a proxy in between that breaks requests and
 * answers; run by tests/faults/test_in_the_way.py, which looks at what the server holds afterwards.
 */

import { appendFileSync } from "node:fs";
import fc from "fast-check";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { newId } from "../../src/events/ids";
import { setSurroundings, surroundings } from "../../src/events/surroundings";
import { append } from "../../src/outbox/append";
import { strictly } from "../../src/outbox/database";
import { countWaiting, readEvents } from "../../src/outbox/read";
import { claimWriter } from "../../src/outbox/writer";
import { attention } from "../../src/store/identity";
import { enrol } from "../../src/sync/enrol";
import { syncNow } from "../../src/sync/service";
import { crashTab, freshTablet } from "../support/tablet";
import { FaultProxy, type Answer, type Fault } from "./proxy";

const {
  DOSEBOOK_URL = "", DOSEBOOK_CODE = "", DOSEBOOK_PERSON = "", DOSEBOOK_SHOWN = "", DOSEBOOK_STUB = "",
  DOSEBOOK_ROUNDS = "10", DOSEBOOK_CUT_EVERY = "101",
} = process.env;

const PORTAL = "<!doctype html><title>Wireless</title><form action='/accept'><button>Go on</button></form>";
const answer = (status: number, body = PORTAL, type = "text/html"): Answer => ({ status, type, body });
const answers = fc.constantFrom<Answer>(
  answer(200), answer(200, ""), answer(204, ""), answer(200, "{}", "application/json"), answer(200, "[]", "application/json"),
  answer(200, '{"results": null}', "application/json"), answer(200, "null", "application/json"),
  { ...answer(302, ""), headers: "Location: /login\r\n" }, answer(401), answer(403), answer(404), answer(407), answer(408, ""),
  answer(409), answer(413), answer(425), answer(429, "slow down", "text/plain"), answer(500), answer(502), answer(503), answer(504),
  answer(511), answer(500, '{"code": "not_ready"}', "application/problem+json"),
);
const share = fc.double({ min: 0, max: 1, noNaN: true });
const fault: fc.Arbitrary<Fault> = fc.oneof(
  fc.constant<Fault>({ kind: "whole" }),
  fc.record({ kind: fc.constant("cut request" as const), share }), fc.record({ kind: fc.constant("cut reply" as const), share }),
  fc.constantFrom<Fault>({ kind: "twice" }, { kind: "again later" }, { kind: "half the results" }),
  fc.record({ kind: fc.constant("drip" as const), bytes: fc.integer({ min: 1, max: 400 }) }),
  fc.record({ kind: fc.constant("half the text" as const), share }),
  fc.record({ kind: fc.constantFrom("instead" as const, "after" as const), answer: answers }),
  fc.record({ kind: fc.constant("of another type" as const), type: fc.constantFrom("text/html", "text/plain", "application/octet-stream") }),
);
const round = fc.record({
  count: fc.integer({ min: 0, max: 12 }), faults: fc.array(fault, { minLength: 1, maxLength: 6 }), crash: fc.boolean(),
});

/** Thousands of requests take their time, most of all on a busy machine. */
const PATIENCE_MS = 1_500_000;

let proxy: FaultProxy;

beforeAll(async () => {
  proxy = new FaultProxy(new URL(DOSEBOOK_URL));
  const address = await proxy.listen();
  await freshTablet({ fetch: async (path, init) => {
    const got = await fetch(address + path, init);
    // The known-bad tablet takes any 200 for a yes to all that it has sent, and lets go of it: as long
    // as it only noted a yes, the server's word of a gap would bring it back.
    if (DOSEBOOK_STUB === "status" && path.endsWith("sync/push") && got.status === 200) {
      const { items } = JSON.parse(init.body as string) as { items: { tablet_seq: number }[] };
      const transaction = await strictly(["events"]);
      for (const { tablet_seq } of items) await transaction.objectStore("events").delete(tablet_seq);
      await transaction.done;
    }
    return got;
  } }, false);
  setSurroundings({ ...surroundings(), now: () => Date.now() });
  await enrol(DOSEBOOK_CODE, "Behind a proxy");
  await claimWriter();
});

afterAll(() => {
  console.log(`met: ${JSON.stringify(proxy.met)}`);
  proxy.close();
});

/** Save notes; what has resolved was shown as saved. */
async function save(count: number): Promise<void> {
  const entity_id = newId();
  const saved = await append(Array.from({ length: count }, (_, n) => (
    { type: "procedure.noted", entity_id, payload: { text: `${n} \u00e9 \u2028 \u{1f600} "` } })), DOSEBOOK_PERSON);
  const held = await readEvents(saved[0]?.tablet_seq ?? 1, saved.at(-1)?.tablet_seq ?? 0);
  for (const { event_id, body_hash } of held) appendFileSync(DOSEBOOK_SHOWN, `${event_id} ${body_hash}\n`);
}

/** Let everything through until nothing waits. */
async function calm(): Promise<void> {
  proxy.plan.length = 0;
  for (let tries = 0; tries < 10 && (tries === 0 || (await countWaiting()) > 0); tries += 1) await syncNow();
  expect(await countWaiting()).toBe(0);
}

describe("whatever stands between the tablet and its server", () => {
  it("is got over without a person, round after round", async () => {
    const rounds = fc.sample(round, { numRuns: Number(DOSEBOOK_ROUNDS), seed: 20261128 });
    for (const { count, faults, crash } of rounds) {
      proxy.plan.push(...faults);
      await save(count);
      while (proxy.plan.length > 0) {
        const before = proxy.plan.length;
        await syncNow();
        // A run that asks nothing has nothing to send and waits for nobody.
        if (proxy.plan.length === before) break;
      }
      if (crash) await crashTab();
    }
    await calm();
    expect(await attention()).toBeNull();
  }, PATIENCE_MS);

  it("may cut an answer after any byte", async () => {
    await save(1);
    proxy.plan.push({ kind: "cut reply", share: 0 });
    await syncNow();
    await calm();
    const [length] = proxy.sizes.slice(-1);
    for (let bytes = 1; bytes < length!; bytes += Number(DOSEBOOK_CUT_EVERY)) {
      await save(1);
      proxy.plan.push({ kind: "cut reply at", bytes });
      await syncNow();
    }
    await calm();
    expect((await readEvents()).every((event) => event.state === "settled")).toBe(true);
  }, PATIENCE_MS);
});
