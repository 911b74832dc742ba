/** What the server put aside: the tablet says so until somebody has decided, and what was decided. */

import { beforeEach, describe, expect, it } from "vitest";
import { setSurroundings, surroundings } from "../src/events/surroundings";
import { append } from "../src/outbox/append";
import { onDecided } from "../src/outbox/settle";
import { readEvents } from "../src/outbox/read";
import { groupsOf } from "../src/screens/aside/groups";
import { attention } from "../src/store/identity";
import type { AsideEntry } from "../src/sync/aside";
import { signOutPerson } from "../src/sync/people";
import { syncNow } from "../src/sync/service";
import { forgetToken } from "../src/sync/token";
import { ALICE, byte, json, MemoryServer } from "./support/memory-server";
import { freshTablet, note } from "./support/tablet";

let server: MemoryServer;

beforeEach(async () => {
  server = new MemoryServer();
  server.keys = (await freshTablet({ fetch: server.fetch })).server;
  forgetToken();
  signOutPerson();
  // Whatever this tablet hands in is put aside.
  setSurroundings({ ...surroundings(), fetch: async (path, init) => {
    const answer = await server.fetch(path, init);
    if (!path.endsWith("sync/push")) return answer;
    const { results } = (await answer.json()) as { results: object[] };
    return json({ results: results.map((one) => ({ ...one, outcome: "quarantined", reason: "actor_left" })), server_time: server.time() });
  } });
});

/** The server tells of a decision about an entry of this tablet. */
async function decided(tablet_seq: number, status: "released" | "rejected"): Promise<void> {
  const { event_id } = (await readEvents(tablet_seq, tablet_seq))[0]!;
  const position = server.entries.length + 1;
  server.entries.push({ position, header_hash: byte(position), body_hash: byte(position + 100) });
  server.documents = server.documents.filter(({ doc_id }) => doc_id !== event_id);
  server.documents.push({ kind: "aside", doc_id: event_id, position, body: { aside_id: event_id, event_id, tablet_seq, status } });
  await syncNow();
}

const outcomes = async () => (await readEvents()).map(({ result }) => (result as { outcome: string }).outcome);

describe("entries that were put aside", () => {
  it("need attention until each of them is decided about", async () => {
    await append([note("one"), note("two")], ALICE);
    await syncNow();
    expect((await attention())?.code).toBe("quarantined");
    const told: number[] = [];
    const end = onDecided((seqs) => told.push(...seqs));
    await decided(1, "released");
    expect(await outcomes()).toEqual(["applied", "quarantined"]);
    expect((await attention())?.code).toBe("quarantined");
    await decided(2, "rejected");
    expect(await outcomes()).toEqual(["applied", "rejected"]);
    expect(await attention()).toBeNull();
    // Rejected is not the last word.
    await decided(2, "released");
    expect(await outcomes()).toEqual(["applied", "applied"]);
    end();
    expect(told).toEqual([1, 2, 2]);
  });

  it("are not answered for by what was decided about another entry", async () => {
    await append([note("one")], ALICE);
    await syncNow();
    server.entries.push({ position: 1, header_hash: byte(1), body_hash: byte(101) });
    server.documents.push({ kind: "aside", doc_id: "e", position: 1, body: { aside_id: "e", event_id: "e", tablet_seq: 1, status: "released" } });
    await syncNow();
    expect(await outcomes()).toEqual(["quarantined"]);
    expect((await attention())?.code).toBe("quarantined");
  });
});

describe("what somebody decides about at once", () => {
  const entry = (position: number, subject: string, entity_id: string, tablet_id = "t"): AsideEntry => ({
    position, event_id: `e${position}`, corrects: null, received_at: "", reason: null, tablet_id, tablet_label: null, type: null,
    subject, entity_id, actor_id: null, occurred_at: null, name: null, patient: null, said: null, photograph: null, obstacle: null, may_settle: true, decided: null,
  });

  it("is all of one record from one tablet, in the order it was made, and anything else by itself", () => {
    const groups = groupsOf([
      entry(5, "record", "r1"), entry(4, "preset", "p"), entry(3, "record", "r1"), entry(2, "preset", "p"), entry(1, "record", "r1", "other"),
    ]);
    expect(groups.map(({ entries }) => entries.map(({ position }) => position))).toEqual([[3, 5], [4], [2], [1]]);
  });
});
