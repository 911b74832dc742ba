/** What a tablet keeps: its own entries until they are 30 days old and inside a verified backup. */

import { beforeEach, describe, expect, it } from "vitest";
import { append } from "../src/outbox/append";
import { readEvents } from "../src/outbox/read";
import { dropDurable, reoffer, settle } from "../src/outbox/settle";
import { freshTablet, note, type Tablet } from "./support/tablet";

const DAY_MS = 86_400_000;
let tablet: Tablet;

beforeEach(async () => { tablet = await freshTablet(); });

/** Three entries that the server has at positions 10, 20 and 30, and one that waits. */
async function held(): Promise<void> {
  const saved = await append([note("one"), note("two"), note("three"), note("four")], "somebody");
  await settle(saved.slice(0, 3).map((one, n) => (
    { event_id: one.event_id, tablet_seq: one.tablet_seq, outcome: n === 1 ? "quarantined" : "applied", position: (n + 1) * 10 })), null);
}
const left = async (): Promise<number[]> => (await readEvents()).map((one) => one.tablet_seq);

describe("an entry goes", () => {
  it.each([
    [31, 30, 3, [4]], [31, 25, 2, [3, 4]], [31, 9, 0, [1, 2, 3, 4]], [31, null, 0, [1, 2, 3, 4]],
    [29, 30, 0, [1, 2, 3, 4]], [4_000, null, 0, [1, 2, 3, 4]], [4_000, 4_000, 3, [4]],
  ] as const)("after %s days with a backup up to %s: %s", async (days, durable, dropped, stays) => {
    await held();
    tablet.clock.ms += days * DAY_MS;
    expect(await dropDurable(durable)).toBe(dropped);
    // What waits to be sent stays, however old it is.
    expect(await left()).toEqual(stays);
  });
});

describe("after a restore", () => {
  it("what was above the backup waits again, in order, and is not dropped before it is inside another", async () => {
    await held();
    tablet.clock.ms += 100 * DAY_MS;
    await reoffer(10);
    expect((await readEvents()).map((one) => one.state)).toEqual(["settled", "waiting", "waiting", "waiting"]);
    expect(await dropDurable(30)).toBe(1);
    expect(await left()).toEqual([2, 3, 4]);
  });
});
