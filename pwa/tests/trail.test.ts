/** What a tablet remembers of the log, and how a restored one is compared with it. */

import { describe, expect, it } from "vitest";
import type { ChainRow, Head } from "../src/store/house";
import { FIRST_LINK, nextLink, walk, type EntryHashes } from "../src/sync/chain";
import { beginAgain, remember } from "../src/sync/trail";

const byte = (value: number): string => value.toString(16).padStart(2, "0").repeat(32);
const entry = (position: number, body = position + 100): EntryHashes =>
  ({ position, header_hash: byte(position), body_hash: byte(body) });

async function linked(entries: readonly EntryHashes[]): Promise<string> {
  let link = FIRST_LINK;
  for (const one of entries) link = await nextLink(link, one);
  return link;
}

describe("the trail", () => {
  it("stays short, keeps its newest points, and some of every age", () => {
    let trail = remember([], { position: 0, link: FIRST_LINK });
    expect(trail).toEqual([]);
    for (let position = 1; position <= 5_000; position += 1) trail = remember(trail, { position, link: String(position) });
    expect(trail.length).toBeLessThanOrEqual(128);
    expect(trail.at(-1)?.position).toBe(5_000);
    expect(trail[0]?.position).toBe(1);
    expect(trail.slice(-50).map((one) => one.position)).toEqual(Array.from({ length: 50 }, (_, n) => 4_951 + n));
    expect(remember(trail, { position: 5_000, link: "again" })).toEqual(trail);
  });
});

describe("a restored log", () => {
  const before = [1, 2, 3, 4, 5].map((position) => entry(position));
  /** What a tablet knew: it saw positions 2, 4 and 5 as the last of a page. */
  async function known(): Promise<ChainRow> {
    let trail: ChainRow["trail"] = [];
    for (const position of [2, 4, 5]) trail = remember(trail, { position, link: await linked(before.slice(0, position)) });
    return { epoch: "old", position: 5, link: await linked(before), heads: [], durable_position: 4, trail };
  }
  const restoredFrom = async (entries: EntryHashes[], upto: number): Promise<ChainRow> => {
    const head: Head = { epoch: "new", location_id: "l", position: entries.length, link: await linked(entries), at: "x" };
    return walk(beginAgain(await known(), "new", upto), FIRST_LINK, entries, head);
  };

  it("is taken where all that is remembered below the backup is still so", async () => {
    const goes_on = [...before.slice(0, 4), entry(5, 77)];
    expect(await restoredFrom(goes_on, 4)).toMatchObject({ epoch: "new", position: 5, heads: [], stale: ["house", "records"] });
  });

  it("is an alarm where something below it is another", async () => {
    for (const changed of [1, 2, 3, 4]) {
      const other = before.slice(0, 4).map((one) => (one.position === changed ? entry(changed, 88) : one));
      await expect(restoredFrom([...other, entry(5, 77)], 4)).rejects.toMatchObject({
        name: "LogChanged", position: changed <= 2 ? 2 : 4,
      });
    }
  });

  it("is an alarm where it says it goes further than it does", async () => {
    // Known-bad: with a bound below what was remembered, a log changed at 4 would pass.
    const other = [...before.slice(0, 3), entry(4, 88), entry(5, 77)];
    await expect(restoredFrom(other, 4)).rejects.toMatchObject({ name: "LogChanged" });
    await expect(restoredFrom(other, 3)).resolves.toMatchObject({ position: 5 });
  });
});
