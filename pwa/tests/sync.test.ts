/** Enrolment, PIN, pull and the service against a small server in memory. */

import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { fromBase64url, utf8 } from "../src/events/bytes";
import type { Item } from "../src/events/build";
import { setSurroundings, surroundings } from "../src/events/surroundings";
import { append } from "../src/outbox/append";
import { countWaiting } from "../src/outbox/read";
import { chain, documents, onDocuments } from "../src/store/documents";
import { house } from "../src/store/house";
import { attention, contact, identity, noteContact, offlineTooLong } from "../src/store/identity";
import { pauseMs } from "../src/store/people";
import { openView } from "../src/store/view";
import { enrol } from "../src/sync/enrol";
import { personToken, signInWithPin, signOutPerson } from "../src/sync/people";
import { pull } from "../src/sync/pull";
import { onStatus, status, syncNow } from "../src/sync/service";
import { forgetToken } from "../src/sync/token";
import { english } from "../src/text/en";
import { ALICE, byte, json, MemoryServer } from "./support/memory-server";
import { freshTablet, note, publicText, START_MS, type Tablet } from "./support/tablet";

let server: MemoryServer;
let tablet: Tablet;

beforeEach(async () => {
  server = new MemoryServer();
  tablet = await freshTablet({ fetch: server.fetch });
  server.keys = tablet.server;
  server.entries = [1, 2, 3, 4, 5].map((position) => ({
    position, header_hash: byte(position), body_hash: byte(position + 100),
  }));
  forgetToken();
  signOutPerson();
});
afterEach(() => vi.useRealTimers());

describe("enrolment", () => {
  beforeEach(async () => {
    const keys = server.keys;
    tablet = await freshTablet({ fetch: server.fetch }, false);
    server.keys = keys;
  });

  it("keeps identity and keys, and a private key that cannot be taken out", async () => {
    const who = await enrol("ABC", "tablet one");
    expect(await identity()).toEqual(who);
    expect(who).toMatchObject({ tablet_id: "t-1", label: "tablet one", epoch: "epoch-1" });
    const ring = await (await house()).get("keys", "ring");
    expect(ring?.sign.privateKey.extractable).toBe(false);
    expect(who.public_key).toBe(await publicText(ring?.sign.publicKey as CryptoKey));
    await expect(enrol("DEF", "again")).rejects.toMatchObject({ code: "already_enrolled" });
  });

  it("refuses a certificate that was not signed for this tablet", async () => {
    server.tamper = (text) => text.replace("t-1", "t-2");
    await expect(enrol("ABC", "tablet one")).rejects.toMatchObject({ code: "certificate_wrong" });
    expect(await identity()).toBeNull();
  });
});

describe("tokens", () => {
  it("are got by a signed nonce, and once more when they run out", async () => {
    await pull("house", null);
    const proof = server.sent.find(({ path }) => path === "tablet/token")?.body as { signature: string };
    const key = await crypto.subtle.importKey("spki", fromBase64url(await publicOfTablet()),
      { name: "ECDSA", namedCurve: "P-256" }, false, ["verify"]);
    expect(await crypto.subtle.verify({ name: "ECDSA", hash: "SHA-256" }, key, fromBase64url(proof.signature), utf8("n-1"))).toBe(true);
    server.token = "tablet-token-2";
    await pull("house", null);
    expect(server.sent.filter(({ path }) => path === "tablet/token")).toHaveLength(2);
  });
});

async function publicOfTablet(): Promise<string> {
  return publicText((await (await house()).get("keys", "ring"))?.sign.publicKey as CryptoKey);
}

describe("PIN", () => {
  it("is checked by the server, then recognised without it", async () => {
    expect(await signInWithPin(ALICE, "123456")).toMatchObject({ mode: "online", capture_only: false });
    expect(personToken()).toBe("person-token");
    expect(JSON.stringify(await (await house()).get("people", ALICE))).not.toContain("123456");
    await noteContact(server.time(), START_MS);
    server.reachable = false;
    expect(await signInWithPin(ALICE, "123456")).toMatchObject({ mode: "offline", capture_only: false, person: { person_id: ALICE } });
    expect(personToken()).toBeNull();
    await expect(signInWithPin("somebody else", "123456")).rejects.toMatchObject({ code: "pin_unknown_offline" });
  });

  it("passes the server's refusals on", async () => {
    await expect(signInWithPin(ALICE, "000000")).rejects.toMatchObject({ code: "pin_wrong", attempts_left: 4 });
    server.pin_answer = { status: 429, body: { code: "pin_locked", until: "2026-11-25T10:17:00.000+00:00" } };
    await expect(signInWithPin(ALICE, "123456")).rejects.toMatchObject({ code: "pin_locked", until: "2026-11-25T10:17:00.000+00:00" });
    expect(server.sent.filter(({ path }) => path === "tablet/token")).toHaveLength(1);
  });

  it("is locked for a minute after five wrong, and for good after ten", async () => {
    await signInWithPin(ALICE, "123456");
    server.reachable = false;
    for (const left of [4, 3, 2, 1]) {
      await expect(signInWithPin(ALICE, "000000")).rejects.toMatchObject({ code: "pin_wrong", attempts_left: left });
    }
    await expect(signInWithPin(ALICE, "000000")).rejects.toMatchObject({ code: "pin_locked", until: "2026-11-25T10:16:30.123+00:00" });
    await expect(signInWithPin(ALICE, "123456")).rejects.toMatchObject({ code: "pin_locked" });
    tablet.clock.ms += 60_001;
    expect(await signInWithPin(ALICE, "123456")).toMatchObject({ mode: "offline" });
    expect([4, 5, 6, 9].map(pauseMs)).toEqual([0, 60_000, 120_000, 960_000]);
    expect(pauseMs(10)).toBeGreaterThan(1e15);
  });

  it("lets five of twenty guesses through that come at once", async () => {
    await signInWithPin(ALICE, "123456");
    server.reachable = false;
    const ends = await Promise.allSettled(
      Array.from({ length: 20 }, (_, index) => signInWithPin(ALICE, String(100_000 + index))));
    const codes = ends.map((end) => (end.status === "rejected" ? (end.reason as { code: string }).code : "right"));
    expect(codes.filter((code) => code === "pin_wrong")).toHaveLength(4);
    expect(codes.filter((code) => code === "pin_locked")).toHaveLength(16);
    tablet.clock.ms += 60_001;
    expect(await signInWithPin(ALICE, "123456")).toMatchObject({ mode: "offline" });
  });

  it("only captures after seven days, even with the clock put back", async () => {
    await signInWithPin(ALICE, "123456");
    server.documents = [{ kind: "record", doc_id: "r-1", position: 1, body: { record_id: "r-1" } }];
    await pull("records", personToken());
    expect(await documents("record")).toHaveLength(1);
    server.reachable = false;
    tablet.clock.ms = START_MS + 7 * 86_400_000;
    expect(await offlineTooLong()).toBe(false);
    tablet.clock.ms += 10_000;
    expect(await signInWithPin(ALICE, "123456")).toMatchObject({ capture_only: true });
    tablet.clock.ms = START_MS;
    expect(await offlineTooLong()).toBe(true);
    expect(await documents("record")).toEqual([]);
  });
});

describe("pull", () => {
  it("stores documents page by page with the cursor and the recomputed chain", async () => {
    server.documents = [
      { kind: "preset", doc_id: "p-1", position: 1, body: { name: "old" } },
      { kind: "device", doc_id: "d-1", position: 2, body: { label: "laser" } },
      { kind: "preset", doc_id: "p-1", position: 5, body: { name: "new" } },
    ];
    const told = vi.fn();
    const end = onDocuments(told);
    await pull("house", null);
    end();
    expect(await documents("preset")).toEqual([{ name: "new" }]);
    expect(await documents("device")).toEqual([{ label: "laser" }]);
    expect(told).toHaveBeenCalledTimes(2);
    expect((await chain())?.position).toBe(5);
    expect(await contact()).toMatchObject({ clock_offset_ms: 1_500 });
    expect(await attention()).toBeNull();
    server.documents = [{ kind: "preset", doc_id: "p-1", position: 6, body: null }];
    server.entries.push({ position: 6, header_hash: byte(6), body_hash: byte(106) });
    await pull("house", null);
    expect(await documents("preset")).toEqual([]);
  });

  it("keeps records sealed", async () => {
    server.documents = [{ kind: "record", doc_id: "r-1", position: 1, body: { patient: "canary-4410" } }];
    await noteContact(server.time(), START_MS);
    await openView(new Uint8Array(32).fill(8));
    await pull("records", "person-token");
    expect(server.sent.at(-1)?.headers.get("Dosebook-Person")).toBe("person-token");
    expect(await documents("record")).toEqual([{ patient: "canary-4410" }]);
    const rows = await (await house()).getAll("records");
    expect(new TextDecoder().decode(rows[0]?.sealed)).not.toContain("canary");
    expect(await (await house()).getAll("documents")).toEqual([]);
  });

  it("notices a rewritten log and stores nothing of it", async () => {
    await pull("house", null);
    server.entries[1] = { position: 2, header_hash: byte(77), body_hash: byte(102) };
    server.documents = [{ kind: "preset", doc_id: "p-9", position: 6, body: { name: "forged" } }];
    server.entries.push({ position: 6, header_hash: byte(6), body_hash: byte(106) });
    await expect(pull("house", null)).rejects.toMatchObject({ name: "LogChanged" });
    expect((await attention())?.code).toBe("log_changed");
    expect(await documents("preset")).toEqual([]);
    expect((await chain())?.position).toBe(5);
  });

  it("says with each pull how far it has followed the log by itself", async () => {
    await pull("house", null);
    const pulls = server.sent.filter(({ path }) => path === "sync/pull").map(({ query }) => query.get("seen_position"));
    expect(pulls).toEqual([null, "2", "4"]);
    await pull("house", null);
    expect(server.sent.at(-1)?.query.get("seen_link")).toBe((await chain())?.link);
  });

  it("notices a head that the server did not sign", async () => {
    server.tamper = (text) => text.replace('"position":5', '"position":6');
    await expect(pull("house", null)).rejects.toMatchObject({ name: "LogChanged" });
    expect((await attention())?.code).toBe("log_changed");
    expect(await chain()).toBeNull();
  });
});

describe("the service", () => {
  it("sends and pulls, and says only what is so", async () => {
    await append([note("a"), note("b")], null);
    server.reachable = false;
    await syncNow();
    expect(await status()).toMatchObject({ online: false, waiting: 2, syncing: false, last_contact: null });
    server.reachable = true;
    const seen: { waiting: number; syncing: boolean }[] = [];
    const end = onStatus((each) => seen.push(each));
    await syncNow();
    end();
    expect(server.held.map((item) => item.tablet_seq)).toEqual([1, 2]);
    expect(await countWaiting()).toBe(0);
    expect(await status()).toMatchObject({ online: true, waiting: 0, attention: null, syncing: false });
    expect((await status()).last_contact).not.toBeNull();
  });

  it("goes on pulling while a notice stops the sending", async () => {
    await append([note("a")], null);
    setSurroundings({ ...surroundings(), fetch: async (path, init) => {
      if (!path.endsWith("sync/push")) return server.fetch(path, init);
      const { items } = JSON.parse(init.body as string) as { items: Item[] };
      return json({ results: items.map(({ event_id, tablet_seq }) => ({ event_id, tablet_seq, outcome: "fork" })), server_time: server.time() });
    } });
    await syncNow();
    expect((await status()).attention?.code).toBe("fork");
    expect(await countWaiting()).toBe(1);
    setSurroundings({ ...surroundings(), fetch: server.fetch });
    server.sent.length = 0;
    await syncNow();
    expect(new Set(server.sent.map(({ path }) => path))).toEqual(new Set(["sync/pull"]));
    expect(server.held).toEqual([]);
    expect((await append([note("still captured")], null))[0]?.tablet_seq).toBe(2);
  });

  it.each([[426, "upgrade"], [413, "too_large"], [422, "refused"]])(
    "keeps everything on a %i, says what to do about it, and sends it once when it may", async (status_code, code) => {
    await append([note("a")], null);
    setSurroundings({ ...surroundings(), fetch: async (path, init) =>
      path.endsWith("sync/push") ? json({ code: "x" }, status_code) : server.fetch(path, init) });
    await syncNow();
    expect((await status()).attention).toMatchObject({ code, blocking: false });
    expect(await countWaiting()).toBe(1);
    expect(english.notices.attention).toHaveProperty(code);
    expect(english.notices.todo).toHaveProperty(code);
    // Recording goes on.
    await append([note("b")], null);
    expect(await countWaiting()).toBe(2);
    setSurroundings({ ...surroundings(), fetch: server.fetch });
    await syncNow();
    expect(server.held.map((item) => item.tablet_seq)).toEqual([1, 2]);
    expect(await status()).toMatchObject({ waiting: 0, attention: null });
  });

  it("lets the server hear that its log is another one, each time, and takes the notice back once it fits again", async () => {
    await syncNow();
    const whole = [...server.entries];
    const link = (await chain())?.link;
    server.entries[1] = { position: 2, header_hash: byte(77), body_hash: byte(102) };
    await syncNow();
    const alarms = () => server.sent.filter(({ path }) => path === "sync/alarm").map(({ body }) => body);
    expect(alarms()).toMatchObject([{ position: 5, expected: link }]);
    expect((await status()).attention?.code).toBe("log_changed");
    await syncNow();
    expect(alarms()).toHaveLength(2);
    server.entries = whole;
    await syncNow();
    expect((await status()).attention).toBeNull();
  });

  it("lets the server hear that its log ends before what was followed", async () => {
    await syncNow();
    setSurroundings({ ...surroundings(), fetch: async (path, init) => path.includes("sync/pull")
      ? json({ code: "log_behind_cursor", position: 3 }, 409) : server.fetch(path, init) });
    await syncNow();
    expect(server.sent.at(-1)).toMatchObject({ path: "sync/alarm", body: { position: 3, expected: "position 5", found: "position 3" } });
  });

  it("leaves a person signed in whose forerunner's token ran out in the meantime", async () => {
    await signInWithPin(ALICE, "123456");
    // What this fetch asks about the forerunner is answered only after the next one has signed in.
    let answer!: () => void;
    let asked!: () => void;
    const reached = new Promise<void>((done) => { asked = done; });
    const held = new Promise<void>((done) => { answer = done; });
    setSurroundings({ ...surroundings(), fetch: async (path, init) => {
      const answered = await server.fetch(path, init);
      if (new Headers(init.headers).get("Dosebook-Person") !== "person-token") return answered;
      asked();
      await held;
      return json({ code: "person_token_expired" }, 401);
    } });
    const run = syncNow();
    await reached;
    server.person_token = "token-of-the-next";
    await signInWithPin(ALICE, "123456");
    answer();
    await run;
    expect(personToken()).toBe("token-of-the-next");
  });

  it("signs a person out whose own token ran out", async () => {
    await signInWithPin(ALICE, "123456");
    setSurroundings({ ...surroundings(), fetch: async (path, init) =>
      new Headers(init.headers).has("Dosebook-Person") ? json({ code: "person_token_expired" }, 401) : server.fetch(path, init) });
    await syncNow();
    expect(personToken()).toBeNull();
  });
});
