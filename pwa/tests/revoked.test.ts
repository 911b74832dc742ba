/** A tablet that was revoked, and a person who is gone: what is left of them on the tablet at the next contact. */

import { beforeEach, describe, expect, it, vi } from "vitest";
import { readCopy } from "../src/copy/copy";
import { hex, sha256 } from "../src/events/bytes";
import { setSurroundings, surroundings, type Bytes } from "../src/events/surroundings";
import { append } from "../src/outbox/append";
import { keepPhotograph, namePhotograph, photographStates } from "../src/outbox/photographs";
import { countWaiting, readEvents } from "../src/outbox/read";
import { cursorOf, documents } from "../src/store/documents";
import { house } from "../src/store/house";
import { attention } from "../src/store/identity";
import { shutOut } from "../src/store/shut-out";
import { personToken, signInWithPin, signOutPerson } from "../src/sync/people";
import { pull } from "../src/sync/pull";
import { onRevoked } from "../src/sync/revoked";
import { syncNow } from "../src/sync/service";
import { forgetToken } from "../src/sync/token";
import { ALICE, json, MemoryServer } from "./support/memory-server";
import { freshTablet, note, PERSON_ID, type Tablet } from "./support/tablet";

const RECORD = "01939a2b-0000-7000-8000-00000000cccc";

let server: MemoryServer;
let tablet: Tablet;

beforeEach(async () => {
  server = new MemoryServer();
  tablet = await freshTablet({ fetch: server.fetch });
  server.keys = tablet.server;
  server.documents = [{ kind: "record", doc_id: "r-1", position: 1, body: { patient: "canary-4410" } }];
  server.entries = [{ position: 1, header_hash: "01".repeat(32), body_hash: "02".repeat(32) }];
  forgetToken();
  signOutPerson();
});

/** From now on the server takes what this tablet hands in aside, and answers nothing else. */
function revoke(code = "tablet_revoked"): void {
  setSurroundings({ ...surroundings(), fetch: async (path, init) => {
    if (!path.endsWith("sync/push")) return path.includes("tablet/") ? server.fetch(path, init) : json({ code }, 403);
    const { results } = (await (await server.fetch(path, init)).json()) as { results: object[] };
    return json({ results: results.map((one) => ({ ...one, outcome: "quarantined", reason: "revoked tablet" })), server_time: server.time() });
  } });
}

async function left(): Promise<unknown[]> {
  const database = await house();
  const copy = await readCopy(tablet.identity.tablet_id);
  return [await database.count("people"), await database.count("records"), await cursorOf("records"), copy?.people.size];
}

describe("a revoked tablet", () => {
  it("hands in what it holds and keeps nothing that opens a record", async () => {
    await signInWithPin(ALICE, server.pin);
    await pull("records", personToken());
    expect(await left()).toEqual([2, 1, "1", 2]);
    server.reachable = false;
    await append([1, 2, 3, 4, 5].map((each) => note(`unsent ${each}`)), ALICE);
    server.reachable = true;
    revoke();
    const told = vi.fn();
    const end = onRevoked(told);
    await syncNow();
    end();
    expect(told).toHaveBeenCalled();
    expect(server.held).toHaveLength(5);
    expect(await countWaiting()).toBe(0);
    expect((await readEvents()).map((event) => (event.result as { outcome: string }).outcome)).toEqual(Array(5).fill("quarantined"));
    expect(await left()).toEqual([0, 0, null, 0]);
    expect(await documents("record")).toEqual([]);
    expect((await attention())?.code).toBe("tablet_revoked");
    setSurroundings({ ...surroundings(), fetch: () => Promise.reject(new TypeError("no network")) });
    for (const person_id of [ALICE, PERSON_ID]) {
      await expect(signInWithPin(person_id, "123456")).rejects.toMatchObject({ code: "pin_unknown_offline" });
    }
  });

  it("hands in the photographs too, which no pull stands in the way of", async () => {
    const bytes = Uint8Array.of(1, 2, 3) as Bytes;
    const hash = hex(await sha256(bytes));
    await keepPhotograph(RECORD, hash, bytes);
    const [event] = await append([note("names a picture")], ALICE);
    await namePhotograph(hash, event!.tablet_seq);
    tablet.clock.ms += 15_000;
    revoke();
    const answering = surroundings().fetch;
    const put: string[] = [];
    setSurroundings({ ...surroundings(), fetch: async (path, init) => {
      if (init.method !== "PUT") return answering(path, init);
      put.push(path);
      return json({ sha256: hash });
    } });
    await syncNow();
    expect(put).toEqual([`/api/v1/attachments/${hash}`]);
    expect((await photographStates()).map((one) => one.state)).toEqual(["sent"]);
    expect((await attention())?.code).toBe("tablet_revoked");
  });

  it("learns of it from a sign-in as well", async () => {
    await signInWithPin(ALICE, server.pin);
    revoke();
    await expect(signInWithPin(ALICE, server.pin)).rejects.toMatchObject({ code: "not_allowed" });
    expect(await left()).toEqual([0, 0, null, 0]);
  });

  it("is not taken for one because of another refusal", async () => {
    await signInWithPin(ALICE, server.pin);
    await pull("records", personToken());
    revoke("not_allowed");
    await syncNow();
    expect(await left()).toEqual([2, 1, "1", 2]);
    expect((await attention())?.code).toBe("tablet_not_allowed");
  });

  it("may be told of it twice", async () => {
    await signInWithPin(ALICE, server.pin);
    await pull("records", personToken());
    await shutOut();
    await shutOut();
    expect(await left()).toEqual([0, 0, null, 0]);
  });
});
