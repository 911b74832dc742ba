/** Three tablets' own program and a real server that is restored from an older backup. */

import "fake-indexeddb/auto";
import { IDBFactory } from "fake-indexeddb";
import { beforeAll, describe, expect, it } from "vitest";
import { closeCopy } from "../../src/copy/copy";
import { setCopyPlace } from "../../src/copy/files";
import { newId } from "../../src/events/ids";
import { setSurroundings, surroundings } from "../../src/events/surroundings";
import { append } from "../../src/outbox/append";
import { closeOutbox } from "../../src/outbox/database";
import { closePhotographs } from "../../src/outbox/photographs";
import { countWaiting, readEvents } from "../../src/outbox/read";
import { claimWriter, forgetWriter } from "../../src/outbox/writer";
import { chain, documents, restored } from "../../src/store/documents";
import { closeHouse } from "../../src/store/house";
import { attention, identity } from "../../src/store/identity";
import { enrol } from "../../src/sync/enrol";
import { syncNow } from "../../src/sync/service";
import { forgetToken } from "../../src/sync/token";
import { CopyInMemory } from "../support/copies";
import { Locks } from "../support/locks";
import { freshTablet } from "../support/tablet";

const { DOSEBOOK_URL = "", DOSEBOOK_PERSON = "", DOSEBOOK_NOW_MS = "" } = process.env;

interface Held { factory: IDBFactory; copy: CopyInMemory; locks: Locks }
const held: Record<string, Held> = {};
const pushed: string[][] = [];

/** Have the next calls be those of one tablet. */
async function at(name: string): Promise<void> {
  await closeOutbox();
  await closePhotographs();
  await closeHouse();
  closeCopy();
  forgetWriter();
  forgetToken();
  const mine = (held[name] ??= { factory: new IDBFactory(), copy: new CopyInMemory(), locks: new Locks() });
  globalThis.indexedDB = mine.factory;
  setCopyPlace(mine.copy);
  const locks = new Locks();
  setSurroundings({ ...surroundings(), locks: () => locks });
  await claimWriter();
}

/** What whoever looks after the server does meanwhile; see the Python side. */
async function server(does: string): Promise<string> {
  const answer = await fetch(`${DOSEBOOK_URL}/test/${does}`, { method: "POST" });
  expect(answer.status, await answer.clone().text()).toBe(200);
  return answer.text();
}

async function note(name: string, count: number): Promise<string[]> {
  const record_id = newId();
  const saved = await append(Array.from({ length: count }, (_, n) => (
    { type: "procedure.noted", entity_id: record_id, payload: { text: `${name} ${n}` } })), DOSEBOOK_PERSON);
  return saved.map((one) => one.event_id);
}

/** Sync until nothing waits; what happens between is up to the program. */
async function inStep(): Promise<void> {
  for (let n = 0; n < 4; n += 1) await syncNow();
}

beforeAll(async () => {
  await freshTablet({ fetch: async (path, init) => {
    if (path.endsWith("sync/push")) {
      pushed.push((JSON.parse(init.body as string) as { items: { event_id: string }[] }).items.map((one) => one.event_id));
    }
    return fetch(DOSEBOOK_URL + path, init);
  } }, false);
  setSurroundings({ ...surroundings(), now: () => Number(DOSEBOOK_NOW_MS) });
});

describe("a restore from an older backup", () => {
  const later: Record<string, string[]> = {};
  let epoch_before = "";

  it("begins with two tablets in step with the server, and a backup", async () => {
    for (const name of ["A", "B"]) {
      await at(name);
      await enrol(await server("code"), name);
      await note(`${name} before`, 3);
      await inStep();
      expect(await countWaiting()).toBe(0);
    }
    epoch_before = (await identity())!.epoch;
    await server("backup");
    await at("A");
    await syncNow();
    expect((await chain())?.durable_position).toBe((await chain())?.position);
  });

  it("loses what came later: entries of both, a third tablet, and what a desk did", async () => {
    await server("desk");
    await at("C");
    await enrol(await server("code"), "C");
    for (const [name, count] of [["C", 4], ["A", 3], ["B", 2]] as const) {
      await at(name);
      later[name] = await note(`${name} after`, count);
      await inStep();
      expect(await countWaiting()).toBe(0);
      expect((await documents<{ text: string }>("procedure_kind")).map((one) => one.text)).toContain("Done at a desk");
    }
    await server("restore");
  });

  it.each(["A", "B"])("is followed by tablet %s without an alarm, with everything it held", async (name) => {
    await at(name);
    pushed.length = 0;
    await inStep();
    expect(await attention()).toBeNull();
    expect((await identity())!.epoch).not.toBe(epoch_before);
    expect((await chain())?.epoch).toBe((await identity())!.epoch);
    // Only what was above the backup, each once.
    expect(pushed.flat()).toEqual(later[name]);
    expect(await countWaiting()).toBe(0);
    expect((await readEvents()).map((one) => (one.result as { outcome: string }).outcome)).toEqual(
      Array(3 + later[name]!.length).fill("applied"));
    expect(await restored()).toMatchObject({ again: later[name]!.length });
    // What the desk did is not in the restored log, and is not shown as if it were.
    expect((await documents<{ text: string }>("procedure_kind")).map((one) => one.text)).not.toContain("Done at a desk");
  });

  it("is followed by the tablet that the server has forgotten, into quarantine", async () => {
    await at("C");
    pushed.length = 0;
    await inStep();
    await inStep();
    expect((await identity())!.epoch).not.toBe(epoch_before);
    expect((await attention())?.code).toMatch(/^(tablet_unconfirmed|quarantined)$/);
    expect(await countWaiting()).toBe(0);
    expect(pushed.flat()).toEqual(later["C"]);
    expect((await readEvents()).map((one) => one.result)).toEqual(
      Array(4).fill(expect.objectContaining({ outcome: "quarantined", reason: "tablet_unconfirmed" })));
    await server("confirm");
    await inStep();
    expect((await chain())?.epoch).toBe((await identity())!.epoch);
    expect((await attention())?.code ?? "quarantined").toBe("quarantined");
  });

  it("leaves everybody in step, with nothing to send", async () => {
    for (const name of ["A", "B", "C"]) {
      await at(name);
      pushed.length = 0;
      await inStep();
      expect(pushed).toEqual([]);
      expect((await chain())?.heads).toEqual([]);
      expect((await chain())?.stale).not.toContain("house");
    }
  });
});
