/** Thirty days without a server, then 3,000 entries sent; run by tests/faults/test_thirty_days.py. */

import { appendFileSync } from "node:fs";
import { beforeAll, expect, it } from "vitest";
import { newId } from "../../src/events/ids";
import { setSurroundings, surroundings } from "../../src/events/surroundings";
import { append } from "../../src/outbox/append";
import { countWaiting, readEvents } from "../../src/outbox/read";
import { claimWriter } from "../../src/outbox/writer";
import { attention } from "../../src/store/identity";
import { enrol } from "../../src/sync/enrol";
import { syncNow } from "../../src/sync/service";
import { freshTablet } from "../support/tablet";

const {
  DOSEBOOK_URL = "", DOSEBOOK_CODE = "", DOSEBOOK_PERSON = "", DOSEBOOK_SHOWN = "", DOSEBOOK_TOLD = "", DOSEBOOK_STUB = "",
  DOSEBOOK_EVENTS = "3000",
} = process.env;
const DAYS = 30;
const DAY_MS = 86_400_000;
const PATIENCE_MS = 1_500_000;

const away = { server: false, ms: -DAYS * DAY_MS };
/** When each push was answered, since the first was sent. */
const answered: number[] = [];
let began = 0;

beforeAll(async () => {
  await freshTablet({ fetch: async (path, init) => {
    if (away.server) throw new TypeError("no network");
    const push = path.endsWith("sync/push");
    if (push) {
      began ||= performance.now();
      // The known-bad server takes no more than one entry at a time, and so is asked thousands of times.
      const { items } = JSON.parse(init.body as string) as { items: unknown[] };
      if (DOSEBOOK_STUB === "one" && items.length > 1) return new Response("{}", { status: 413 });
    }
    const got = await fetch(DOSEBOOK_URL + path, init);
    if (push) answered.push(performance.now() - began);
    return got;
  } }, false);
  setSurroundings({ ...surroundings(), now: () => Date.now() + away.ms });
  await enrol(DOSEBOOK_CODE, "Thirty days away");
  await claimWriter();
});

it("sends what thirty days left", async () => {
  const count = Number(DOSEBOOK_EVENTS);
  away.server = true;
  for (let made = 0; made < count; made += 10) {
    const entity_id = newId();
    const saved = await append(Array.from({ length: 10 }, (_, n) => (
      { type: "procedure.noted", entity_id, payload: { text: `note ${made + n}` } })), DOSEBOOK_PERSON);
    appendFileSync(DOSEBOOK_SHOWN, (await readEvents(saved[0]!.tablet_seq)).map((one) => `${one.event_id} ${one.body_hash}\n`).join(""));
    away.ms = DAYS * DAY_MS * ((made + 10) / count - 1);
    if (made % 500 === 0) await syncNow();
  }
  away.ms = 0;
  expect(await countWaiting()).toBe(count);
  away.server = false;
  for (let tries = 0; tries < 5 && (await countWaiting()) > 0; tries += 1) await syncNow();
  expect(await countWaiting()).toBe(0);
  expect(await attention()).toBeNull();
  const middle = answered.length >> 1;
  appendFileSync(DOSEBOOK_TOLD, JSON.stringify({
    requests: answered.length, took_s: answered.at(-1)! / 1_000,
    halves: (answered.at(-1)! - answered[middle - 1]!) / answered[middle - 1]!,
  }));
}, PATIENCE_MS);
