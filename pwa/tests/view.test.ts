/** Records that the server sent: under the view key, which lies on the tablet under PINs only. */

import { hkdfSync, pbkdf2Sync } from "node:crypto";
import { beforeEach, describe, expect, it } from "vitest";
import { base64url } from "../src/events/bytes";
import { setSurroundings, surroundings, type Bytes } from "../src/events/surroundings";
import { cursorOf, documents } from "../src/store/documents";
import { house, type KeyRing } from "../src/store/house";
import { seal, unseal } from "../src/store/seal";
import { LEAST_ROUNDS, roundsFor, roundsHere, stretch } from "../src/store/stretch";
import { closeView } from "../src/store/view";
import { personToken, signInWithPin, signOutPerson } from "../src/sync/people";
import { pull } from "../src/sync/pull";
import { forgetToken } from "../src/sync/token";
import { ALICE, MemoryServer } from "./support/memory-server";
import { freshTablet, type Tablet } from "./support/tablet";

const BOB = "01939a2b-0000-7000-8000-000000000b0b";
const PATIENT = { record_id: "r-1", patient: "canary-4410" };

let server: MemoryServer;
let tablet: Tablet;

beforeEach(async () => {
  server = new MemoryServer();
  tablet = await freshTablet({ fetch: server.fetch });
  server.keys = tablet.server;
  server.documents = [{ kind: "record", doc_id: "r-1", position: 1, body: PATIENT }];
  server.entries = [{ position: 1, header_hash: "01".repeat(32), body_hash: "02".repeat(32) }];
  forgetToken();
  signOutPerson();
});

function lock(): void {
  closeView();
  signOutPerson();
}

async function signedInWithRecords(): Promise<void> {
  await signInWithPin(ALICE, server.pin);
  await pull("records", personToken());
  expect(await documents("record")).toEqual([PATIENT]);
}

/** Whether any key that lies on the tablet as it is opens any record that does. */
async function openedByWhatLiesThere(): Promise<boolean> {
  const ring = (await (await house()).get("keys", "ring"))!;
  const keys = Object.values(ring as unknown as Record<string, unknown>).filter(
    (one): one is CryptoKey => one instanceof CryptoKey && one.usages.includes("decrypt"));
  expect(keys.length).toBeGreaterThan(0);
  for (const row of await (await house()).getAll("records")) {
    for (const key of keys) if (await unseal(key, row.doc_id, row).then(() => true, () => false)) return true;
  }
  return false;
}

/** The store as versions before this one left it: rows under a key that lay beside them. */
async function asBefore(records: object[]): Promise<void> {
  const database = await house();
  const old = await crypto.subtle.generateKey({ name: "AES-GCM", length: 256 }, false, ["encrypt", "decrypt"]);
  await database.put("keys", { ...((await database.get("keys", "ring")) as KeyRing), records: old }, "ring");
  for (const [index, record] of records.entries()) {
    const doc_id = `r-${String(index + 1).padStart(4, "0")}`;
    await database.put("records", { doc_id, kind: "record", position: index + 1, ...(await seal(old, doc_id, record)) });
  }
  await database.put("cursor", { cursor: String(records.length) }, "records");
}

async function moved(): Promise<boolean> {
  return (await (await house()).get("keys", "ring"))?.records === undefined;
}

async function untilMoved(): Promise<void> {
  while (!(await moved())) await new Promise((resolve) => setTimeout(resolve, 1));
}

describe("the local view", () => {
  it("cannot be read while locked, nor by any key that lies on the tablet", async () => {
    await signedInWithRecords();
    lock();
    expect(await documents("record")).toEqual([]);
    expect(await openedByWhatLiesThere()).toBe(false);
    const everything = JSON.stringify(await (await house()).getAll("people"));
    expect(everything).not.toContain(server.view_key);
    // The known-bad twin: as it was, with the key of the rows beside them.
    await asBefore([PATIENT]);
    expect(await openedByWhatLiesThere()).toBe(true);
  });

  it("is opened by the PIN without the server", async () => {
    await signedInWithRecords();
    lock();
    server.reachable = false;
    await expect(signInWithPin(ALICE, "000000")).rejects.toMatchObject({ code: "pin_wrong" });
    expect(await documents("record")).toEqual([]);
    expect(await signInWithPin(ALICE, server.pin)).toMatchObject({ mode: "offline", capture_only: false });
    expect(await documents("record")).toEqual([PATIENT]);
  });

  it("is not stranded by a PIN that was changed elsewhere", async () => {
    await signedInWithRecords();
    lock();
    server.pin = "654321";
    server.secrets_changed_at = "2026-02-02T00:00:00.000+00:00";
    await signInWithPin(ALICE, "654321");
    expect(await documents("record")).toEqual([PATIENT]);
    lock();
    server.reachable = false;
    await expect(signInWithPin(ALICE, "123456")).rejects.toMatchObject({ code: "pin_wrong" });
    await signInWithPin(ALICE, "654321");
    expect(await documents("record")).toEqual([PATIENT]);
  });

  it("wraps nothing again while the PIN is the same", async () => {
    await signInWithPin(ALICE, server.pin);
    const first = (await (await house()).get("people", ALICE))!;
    await signInWithPin(ALICE, server.pin);
    expect((await (await house()).get("people", ALICE))?.salt).toEqual(first.salt);
    server.secrets_changed_at = "2026-02-02T00:00:00.000+00:00";
    await signInWithPin(ALICE, server.pin);
    expect((await (await house()).get("people", ALICE))?.salt).not.toEqual(first.salt);
  });

  it("stays shut for whoever may read no records, and shuts for whoever may no longer", async () => {
    await signedInWithRecords();
    lock();
    const given = server.view_key;
    server.view_key = null;
    await signInWithPin(ALICE, server.pin);
    expect(await documents("record")).toEqual([]);
    lock();
    server.reachable = false;
    expect(await signInWithPin(ALICE, server.pin)).toMatchObject({ capture_only: false });
    expect(await documents("record")).toEqual([]);
    lock();
    server.reachable = true;
    server.view_key = given;
    await signInWithPin(ALICE, server.pin);
    expect(await documents("record")).toEqual([PATIENT]);
  });

  it("takes nothing in that arrives after the tablet was locked", async () => {
    await signInWithPin(ALICE, server.pin);
    const token = personToken();
    setSurroundings({ ...surroundings(), fetch: async (path, init) => {
      const answer = await server.fetch(path, init);
      lock();
      return answer;
    } });
    await pull("records", token);
    expect(await (await house()).count("records")).toBe(0);
    expect(await cursorOf("records")).toBeNull();
  });

  it("is asked for again where the server gives another key", async () => {
    await signedInWithRecords();
    lock();
    server.view_key = base64url(new Uint8Array(32).fill(9));
    await signInWithPin(ALICE, server.pin);
    expect(await cursorOf("records")).toBeNull();
    await pull("records", personToken());
    expect(await documents("record")).toEqual([PATIENT]);
    // Also when the PIN is the same: it opens the new one offline from then on.
    lock();
    server.reachable = false;
    await signInWithPin(ALICE, server.pin);
    expect(await documents("record")).toEqual([PATIENT]);
  });
});

describe("a store of an older version", () => {
  const many = Array.from({ length: 120 }, (_, index) => ({ record_id: `r-${index}`, patient: `canary-${index}` }));

  it("is moved under the view key without losing anything, and its key goes", async () => {
    await asBefore(many);
    await signInWithPin(ALICE, server.pin);
    expect(await documents("record")).toEqual(many);
    await untilMoved();
    expect(await documents("record")).toEqual(many);
    expect(await openedByWhatLiesThere()).toBe(false);
    expect(await cursorOf("records")).toBe("120");
    lock();
    expect(await documents("record")).toEqual([]);
  });

  it("goes on where it was cut off", async () => {
    await asBefore(many);
    const whole = (await (await house()).get("keys", "ring"))!;
    await signInWithPin(ALICE, server.pin);
    await untilMoved();
    // Cut off in the middle: the last rows and the key are as they were.
    const database = await house();
    for (let at = 80; at < 120; at += 1) {
      const doc_id = `r-${String(at + 1).padStart(4, "0")}`;
      await database.put("records", { doc_id, kind: "record", position: at + 1, ...(await seal(whole.records!, doc_id, many[at]!)) });
    }
    await database.put("keys", whole, "ring");
    expect(await documents("record")).toEqual(many);
    await signInWithPin(ALICE, server.pin);
    await untilMoved();
    expect(await documents("record")).toEqual(many);
  });

  it("can still be read offline with a PIN that it kept; once moved, only with a PIN kept since", async () => {
    await asBefore([PATIENT]);
    await signInWithPin(ALICE, server.pin);
    await untilMoved();
    for (const person_id of [ALICE, BOB]) {
      const { view: _none, given: _unsaid, ...before } = (await (await house()).get("people", ALICE))!;
      await (await house()).put("people", { ...before, person_id });
    }
    await asBefore([PATIENT]);
    lock();
    server.reachable = false;
    expect(await signInWithPin(BOB, server.pin)).toMatchObject({ mode: "offline", capture_only: false });
    expect(await documents("record")).toEqual([PATIENT]);
    server.reachable = true;
    await signInWithPin(ALICE, server.pin);
    await untilMoved();
    lock();
    server.reachable = false;
    expect(await signInWithPin(BOB, server.pin)).toMatchObject({ mode: "offline", capture_only: true });
    expect(await documents("record")).toEqual([]);
  });
});

describe("a guess at a PIN", () => {
  it("is stretched as PBKDF2 (RFC 8018) and HKDF (RFC 5869) say, by Node's own functions", async () => {
    const salt = new Uint8Array(16).fill(3) as Bytes;
    const { verifier, wrap } = await stretch("135790", salt, LEAST_ROUNDS);
    const slow = pbkdf2Sync("135790", salt, LEAST_ROUNDS, 32, "sha256");
    const part = (info: string) => new Uint8Array(hkdfSync("sha256", slow, new Uint8Array(), info, 32));
    expect(verifier).toEqual(part("dosebook-pin-verifier-1"));
    const key = await crypto.subtle.importKey("raw", part("dosebook-pin-keep-1"), "AES-GCM", false, ["decrypt"]);
    expect(await unseal(key, "somewhere", await seal(wrap, "somewhere", "a value"))).toBe("a value");
  });

  it("takes 300 to 500 ms where the tablet is quick enough, and never fewer than 210,000 rounds", () => {
    // By hand: 210,000 rounds in 70 ms are 3,000 in 1 ms, and 380 ms take 1,140,000.
    expect(roundsFor(70)).toBe(1_140_000);
    for (const took_ms of [5, 30, 70, 150, 250]) {
      const expected_ms = (roundsFor(took_ms) / 210_000) * took_ms;
      expect(expected_ms).toBeGreaterThanOrEqual(300);
      expect(expected_ms).toBeLessThanOrEqual(500);
    }
    for (const took_ms of [380, 900, 5_000]) expect(roundsFor(took_ms)).toBe(210_000);
    expect(roundsFor(0)).toBe(20_000_000);
  });

  it("is measured once, by the fastest of three, and what was measured is kept", async () => {
    await (await house()).delete("identity", "stretching");
    const took = [200, 100, 150];
    let at_ms = 0;
    let asked = 0;
    setSurroundings({ ...surroundings(), elapsed: () => {
      if (asked % 2 === 1) at_ms += took[(asked - 1) / 2] ?? 0;
      asked += 1;
      return at_ms;
    } });
    // By hand: 210,000 * 380 / 100.
    expect(await roundsHere()).toBe(798_000);
    expect(await roundsHere()).toBe(798_000);
    expect(asked).toBe(6);
    expect(await (await house()).get("identity", "stretching")).toMatchObject({ rounds: 798_000, took_ms: 380 });
    await signInWithPin(ALICE, server.pin);
    expect((await (await house()).get("people", ALICE))?.rounds).toBe(798_000);
  });
});
