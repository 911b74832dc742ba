/** What the practice erased goes from a tablet: entries, second copy, pictures, records it was sent. */

import { beforeEach, describe, expect, it } from "vitest";
import { eraseCopied, lastCopied, readCopy } from "../src/copy/copy";
import { settle, swap, wholeBeside, type Handle } from "../src/copy/swap";
import { text, utf8 } from "../src/events/bytes";
import { append } from "../src/outbox/append";
import { outbox } from "../src/outbox/database";
import { eraseHeld } from "../src/outbox/erase";
import { keepPhotograph, photographBytes, photographStates } from "../src/outbox/photographs";
import { ERASED_SALT, readEvents, readWaiting } from "../src/outbox/read";
import { dropDurable, onErased, reoffer, settle as settleResults } from "../src/outbox/settle";
import { documents, storePage } from "../src/store/documents";
import { heedErasures } from "../src/sync/erase";
import { CopyInMemory } from "./support/copies";
import { crashTab, freshTablet, loseStorage, note, type Tablet } from "./support/tablet";

const MARK = "Zimtsternchen-4711";
const GONE = "01939a2b-0000-7000-8000-00000000eeee";

let place: CopyInMemory;
let tablet: Tablet;
const copied = (): string => place.texts.get(`${tablet.identity.tablet_id}/entries`)!;
const texts = async (): Promise<unknown[]> => (await readEvents()).map(({ payload }) => (payload as { text: string } | null)?.text);

beforeEach(async () => {
  place = new CopyInMemory();
  tablet = await freshTablet({}, true, place);
});

/** Three entries, the one in the middle of the record that goes; all taken by the server. */
async function three(): Promise<string> {
  await append([note("one")], null);
  const [gone] = await append([note(MARK, GONE)], null);
  await append([note("three")], null);
  await settleResults((await readEvents()).map(({ event_id, tablet_seq }) =>
    ({ event_id, tablet_seq, outcome: "applied", position: 10 + tablet_seq })) as never, null);
  return gone!.event_id;
}

const erasure = (event_ids: string[], photographs: string[] = [], position = 40) => ({
  kind: "erasure", doc_id: GONE, position,
  body: {
    record_id: GONE, status: "erased", event_ids, photographs,
    erased: { basis: "request", citation: "House rule 7", asked_by: "a", by: "b", at: "2036-03-03T10:00:00.000+00:00", position },
  },
});

describe("an erased entry", () => {
  it("loses its content, here and in the second copy, and its number is not given again", async () => {
    const event_id = await three();
    const sealed = (await readCopy(tablet.identity.tablet_id))!.rows[1]!.sealed;
    const told: number[] = [];
    const end = onErased((seqs) => told.push(...seqs));
    expect(await eraseHeld([event_id], [])).toBe(true);
    end();
    expect(told).toEqual([2]);
    expect(await texts()).toEqual(["one", undefined, "three"]);
    expect(copied()).not.toContain(Buffer.from(sealed).toString("base64url"));
    await loseStorage();
    expect(await texts()).toEqual(["one", undefined, "three"]);
    expect((await append([note("four")], null))[0]!.tablet_seq).toBe(4);
  });

  it("that is inside a verified backup leaves no hole: an older one may be restored", async () => {
    const event_id = await three();
    await eraseHeld([event_id], []);
    // The server's log ends with the first entry now, and it waits for the second.
    await reoffer(11);
    expect((await readWaiting(50)).map(({ tablet_seq }) => tablet_seq)).toEqual([2, 3]);
  });

  it("goes whole with all the others, when it is old and inside a verified backup", async () => {
    const event_id = await three();
    await eraseHeld([event_id], []);
    expect(await dropDurable(100)).toBe(0);
    tablet.clock.ms += 31 * 86_400_000;
    expect(await dropDurable(100)).toBe(3);
    expect(await readEvents()).toEqual([]);
  });

  it("at the end of everything leaves its number taken, also after all else was lost", async () => {
    const [gone] = await append([note(MARK, GONE)], null);
    await settleResults([{ event_id: gone!.event_id, tablet_seq: 1, outcome: "applied", position: 5 }] as never, null);
    await eraseHeld([gone!.event_id], []);
    expect(await lastCopied(tablet.identity.tablet_id)).toBe(1);
    await loseStorage();
    expect(await texts()).toEqual([undefined]);
    expect((await append([note("two")], null))[0]!.tablet_seq).toBe(2);
  });

  it("keeps its place and its signature, and nothing of what it said", async () => {
    const event_id = await three();
    const before = (await readEvents())[1]!;
    expect(await eraseHeld([event_id], [])).toBe(true);
    expect(await texts()).toEqual(["one", undefined, "three"]);
    const after = (await readEvents())[1]!;
    expect(after.body_hash).toBe(before.body_hash);
    // As it would be sent after a restore: in its order, without content.
    await settleResults([], 1);
    const items = await readWaiting(50);
    expect(items.map(({ tablet_seq }) => tablet_seq)).toEqual([1, 2, 3]);
    expect([items[1]!.payload, items[1]!.salt]).toEqual(["{}", ERASED_SALT]);
    expect(JSON.stringify(items)).not.toContain(MARK);
    await loseStorage();
    expect(await texts()).toEqual(["one", undefined, "three"]);
    // Done again it changes nothing, not even the file.
    const file = copied();
    await eraseHeld([event_id], []);
    expect(copied()).toBe(file);
  });

  it("takes its pictures with it", async () => {
    await keepPhotograph(GONE, "a".repeat(64), new Uint8Array([1, 2, 3]));
    await keepPhotograph("another", "b".repeat(64), new Uint8Array([4]));
    await eraseHeld([], ["a".repeat(64)]);
    expect(await photographBytes("a".repeat(64))).toBeNull();
    expect((await photographStates()).map(({ record_id }) => record_id)).toEqual(["another"]);
  });

  it("leaves a picture that an entry about another record names too", async () => {
    const sha256 = "a".repeat(64);
    await keepPhotograph(GONE, sha256, new Uint8Array([1, 2, 3]));
    const added = (entity_id: string) => ({ ...note("", entity_id), type: "attachment.added", payload: { sha256 } }) as never;
    const [gone] = await append([added(GONE)], null);
    const [other] = await append([added("another")], null);
    await eraseHeld([gone!.event_id], [sha256]);
    expect(await photographBytes(sha256)).toEqual(new Uint8Array([1, 2, 3]));
    await eraseHeld([other!.event_id], [sha256]);
    expect(await photographBytes(sha256)).toBeNull();
  });

  it("that waits for nothing else to be saved is not lost beside it", async () => {
    const event_id = await three();
    const saving = append([note("four")], null);
    await Promise.all([eraseHeld([event_id], []), saving, append([note("five")], null)]);
    await loseStorage();
    expect(await texts()).toEqual(["one", undefined, "three", "four", "five"]);
  });
});

describe("what the house says was erased", () => {
  it("is carried out, and again after a kill in the middle", async () => {
    const event_id = await three();
    await storePage("house", [erasure([event_id])], "c", null);
    place.failing = true;
    await expect(heedErasures()).rejects.toThrow();
    place.failing = false;
    await crashTab();
    await heedErasures();
    expect(await texts()).toEqual(["one", undefined, "three"]);
    expect((await readCopy(tablet.identity.tablet_id))!.rows).toHaveLength(3);
    const rows = await (await outbox()).getAll("events");
    expect(Buffer.from(rows[1]!.sealed).toString("base64url")).toSatisfy((sealed: string) => copied().includes(sealed));
    expect(await documents("erasure")).toHaveLength(1);
  });

  it("is left alone while it is only asked for", async () => {
    const event_id = await three();
    const asked = erasure([event_id]);
    await storePage("house", [{ ...asked, body: { ...asked.body, status: "asked", erased: null } as never }], "c", null);
    await heedErasures();
    expect(await texts()).toEqual(["one", MARK, "three"]);
  });

  it("comes once more for what came later", async () => {
    const event_id = await three();
    await storePage("house", [erasure([event_id])], "c", null);
    await heedErasures();
    const [later] = await append([note(`${MARK} later`, GONE)], null);
    await storePage("house", [erasure([event_id, later!.event_id], [], 60)], "d", null);
    await heedErasures();
    expect(JSON.stringify(await texts())).not.toContain(MARK);
  });

  it("a stub that leaves the line in the second copy would bring it back", async () => {
    const event_id = await three();
    // The known-bad one: the database alone.
    const database = await outbox();
    await database.delete("events", 2);
    await loseStorage();
    expect(await texts()).toContain(MARK);
    expect(await eraseCopied(tablet.identity.tablet_id, new Set([event_id]))).toBe(1);
  });
});

/** A file whose owner is killed at the n-th thing done to it; a write may be torn in the middle. */
class Killed extends Error {}
class Disk {
  left = Infinity;
  step(): void {
    this.left -= 1;
    if (this.left < 0) throw new Killed();
  }
}
class FileInMemory implements Handle {
  constructor(readonly disk: Disk, public bytes = new Uint8Array(0)) {}
  getSize(): number { return this.bytes.length; }
  read(into: Uint8Array, { at }: { at: number }): number {
    into.set(this.bytes.subarray(at, at + into.length));
    return Math.min(into.length, this.bytes.length - at);
  }
  write(bytes: Uint8Array, { at }: { at: number }): number {
    const grown = new Uint8Array(Math.max(this.bytes.length, at + bytes.length));
    grown.set(this.bytes);
    // Torn: the half of it arrives, then the kill.
    grown.set(bytes.subarray(0, bytes.length >> 1), at);
    const torn = grown.slice(0, at + (bytes.length >> 1));
    const whole = grown.slice();
    whole.set(bytes, at);
    this.bytes = torn;
    this.disk.step();
    this.bytes = whole;
    return bytes.length;
  }
  truncate(size: number): void { this.disk.step(); this.bytes = this.bytes.slice(0, size); }
  flush(): void { this.disk.step(); }
}

describe("writing a file anew", () => {
  const OLD = "line one\nline two\n";
  const NEW = "line one\n";

  /** What a reader finds, and then the next writer, after a kill at step `n`; null: it was not killed. */
  async function killedAt(n: number, write: typeof swap): Promise<{ read: string; after: string } | null> {
    const disk = new Disk();
    const [file, fresh] = [new FileInMemory(disk, utf8(OLD)), new FileInMemory(disk)];
    disk.left = n;
    const killed = await write(file, fresh, NEW).then(() => false, (problem: unknown) => problem instanceof Killed);
    disk.left = Infinity;
    if (!killed) return null;
    const read = text((await wholeBeside(fresh.bytes.slice())) ?? file.bytes);
    await settle(file, fresh);
    return { read, after: text(file.bytes) };
  }

  it("leaves the old text or the new one whole, wherever a kill comes", async () => {
    const seen = new Set<string>();
    let kills = 0;
    for (let n = 0; ; n += 1) {
      const found = await killedAt(n, swap);
      if (found === null) break;
      kills += 1;
      expect([OLD, NEW]).toContain(found.read);
      expect(found.after).toBe(found.read);
      seen.add(found.read);
    }
    // Every step of it was tried, and both outcomes were met.
    expect(kills).toBeGreaterThanOrEqual(8);
    expect(seen).toEqual(new Set([OLD, NEW]));
  });

  it("in its place only, as a stub does, loses it", async () => {
    const inPlace: typeof swap = async (file, _fresh, said) => {
      file.truncate(0);
      file.write(utf8(said), { at: 0 });
      file.flush();
      return Promise.resolve();
    };
    const found = await Promise.all([0, 1, 2].map((n) => killedAt(n, inPlace)));
    expect(found.some((one) => one !== null && one.read !== OLD && one.read !== NEW)).toBe(true);
  });

  it("goes on from what lies beside where the file itself could not be written, and wherever a kill comes then", async () => {
    for (let n = 0, killed = true; killed; n += 1) {
      const disk = new Disk();
      const [file, fresh] = [new FileInMemory(disk, utf8(OLD)), new FileInMemory(disk)];
      const write = file.write.bind(file);
      file.write = () => 0;
      await expect(swap(file, fresh, NEW)).rejects.toMatchObject({ name: "QuotaExceededError" });
      file.write = write;
      disk.left = n;
      killed = await swap(file, fresh, "line three\n").then(() => false, (problem: unknown) => problem instanceof Killed);
      disk.left = Infinity;
      await settle(file, fresh);
      expect([NEW, "line three\n"]).toContain(text(file.bytes));
    }
  });

  it("leaves the old text where the disk is full", async () => {
    const disk = new Disk();
    const [file, fresh] = [new FileInMemory(disk, utf8(OLD)), new FileInMemory(disk)];
    fresh.write = (bytes) => bytes.length - 1;
    await expect(swap(file, fresh, NEW)).rejects.toMatchObject({ name: "QuotaExceededError" });
    expect(text(file.bytes)).toBe(OLD);
    expect(fresh.getSize()).toBe(0);
  });
});
