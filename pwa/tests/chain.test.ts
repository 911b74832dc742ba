import { describe, expect, it } from "vitest";
import type { ChainRow, Head } from "../src/store/house";
import { FIRST_LINK, nextLink, walk, type EntryHashes } from "../src/sync/chain";

// Python: link = hashlib.sha256(b"dosebook-link-1" + previous + header + body) with header bytes
// 32 times n and body bytes 32 times n + 100, from 32 zero bytes on, for n = 1, 2, 3.
const LINKS = [
  "8b661ec84f115bb05e791d93ca30395b6b8d6ccb19e0ea8c41d0b6700450821c",
  "0b53a807c4ed0776307a9b133f1eb9ea4d0a6d8d420d13006374fcea4ed22e93",
  "3b84e015ba5af27dae2d9c784b78b437a36cefefee6145da4d423c54cb65e462",
];
const byte = (value: number): string => value.toString(16).padStart(2, "0").repeat(32);
const entry = (position: number): EntryHashes => ({
  position, header_hash: byte(position), body_hash: byte(position + 100),
});
const link = (position: number): string => (position === 0 ? FIRST_LINK : (LINKS[position - 1] ?? ""));
const head = (position: number, of = link(position)): Head => ({
  epoch: "e", location_id: "l", position, link: of, at: "2026-11-25T10:00:00.000+00:00",
});
const known = (position: number, heads: Head[] = []): ChainRow => ({
  epoch: "e", position, link: link(position), heads, durable_position: null,
});

describe("links", () => {
  it("are those an independent program computes", async () => {
    let at = FIRST_LINK;
    for (const [index, expected] of LINKS.entries()) {
      at = await nextLink(at, entry(index + 1));
      expect(at).toBe(expected);
    }
  });
});

describe("a tablet as witness", () => {
  it("walks a page to its head", async () => {
    expect(await walk(known(0), FIRST_LINK, [entry(1), entry(2), entry(3)], head(3))).toEqual(known(3));
    expect(await walk(known(3), link(3), [], head(3))).toEqual(known(3));
  });

  it("keeps a head that lies ahead and compares it later", async () => {
    const first = await walk(known(0), FIRST_LINK, [entry(1)], head(3));
    expect(first.heads).toEqual([head(3)]);
    expect(await walk(first, link(1), [entry(2), entry(3)], head(3))).toEqual(known(3));
    const wrong = await walk(known(0), FIRST_LINK, [entry(1)], head(2, byte(9)));
    await expect(walk(wrong, link(1), [entry(2), entry(3)], head(3))).rejects.toMatchObject({ position: 2 });
  });

  it.each([
    ["a flipped body", known(1), link(1), [{ ...entry(2), body_hash: byte(7) }, entry(3)], head(3), 3],
    ["a changed header (verdict, received_at)", known(1), link(1), [entry(2), { ...entry(3), header_hash: byte(7) }], head(3), 3],
    ["a deleted entry", known(1), link(1), [entry(3)], head(3), 2],
    ["an inserted entry", known(1), link(1), [entry(2), { ...entry(9), position: 3 }], head(3), 3],
    ["swapped entries", known(1), link(1), [{ ...entry(3), position: 2 }, { ...entry(2), position: 3 }], head(3), 3],
    ["a recomputed past", known(2), byte(5), [entry(3)], head(3), 2],
    ["a recomputed head at the same place", known(3), link(3), [], head(3, byte(5)), 3],
    ["a truncated log", known(3), link(3), [], head(2), 2],
    ["a log cut below a head once signed", known(1, [head(3)]), link(1), [entry(2)], head(2), 2],
    ["another epoch", known(1), link(1), [entry(2)], { ...head(2), epoch: "f" }, 1],
  ] as const)("finds %s", async (_, before, previous, entries, signed, position) => {
    await expect(walk(before, previous, entries, signed)).rejects.toMatchObject({ name: "LogChanged", position });
  });
});
