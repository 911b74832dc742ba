import { beforeEach, describe, expect, it } from "vitest";
import { fromBase64url, fromHex, hex, concat, sha256, utf8 } from "../src/events/bytes";
import { append, EVENT_LIMIT_BYTES } from "../src/outbox/append";
import { closeOutbox, outbox, strictly } from "../src/outbox/database";
import { drain } from "../src/outbox/drain";
import { getLive, putLive } from "../src/outbox/live";
import { countWaiting, readEvents, readWaiting } from "../src/outbox/read";
import { dropDurable, settle } from "../src/outbox/settle";
import { claimWriter, forgetWriter } from "../src/outbox/writer";
import { readKeys } from "../src/store/keys";
import { FakeServer } from "./support/server";
import { crashTab, freshTablet, note, type Tablet } from "./support/tablet";

let tablet: Tablet;
beforeEach(async () => { tablet = await freshTablet(); });

describe("append", () => {
  it("numbers events 1, 2, 3 without holes, over several calls made at once", async () => {
    const saved = await Promise.all([append([note("a"), note("b")], null), append([note("c")], "p"), append([note("d")], null)]);
    expect(saved.flat().map((event) => [event.tablet_seq, event.payload.text])).toEqual([[1, "a"], [2, "b"], [3, "c"], [4, "d"]]);
    expect(await readEvents()).toEqual(saved.flat());
  });

  it("signs the body's own bytes and hashes the payload's", async () => {
    await append([note("caf\u00e9 \u{1f600}")], null);
    const [item] = await readWaiting(1);
    const key = (await readKeys())?.sign.publicKey;
    if (item === undefined || key === undefined) throw new Error("nothing saved");
    expect(await crypto.subtle.verify({ name: "ECDSA", hash: "SHA-256" }, key, fromBase64url(item.signature), utf8(item.body))).toBe(true);
    const body = JSON.parse(item.body) as { payload_hash: string; tablet_id: string };
    expect(body.payload_hash).toBe(hex(await sha256(concat(fromHex(item.salt), utf8(item.payload)))));
    expect(body.tablet_id).toBe(tablet.identity.tablet_id);
  });

  it("leaves no clear text in the database, and a key that cannot be taken out", async () => {
    await append([note("canary-7351")], null);
    const row = await (await outbox()).get("events", 1);
    expect(new TextDecoder().decode(row?.sealed)).not.toContain("canary");
    expect(JSON.stringify(row)).not.toContain("canary");
    await expect(crypto.subtle.exportKey("raw", (await readKeys())?.seal as CryptoKey)).rejects.toThrow();
  });

  it("begins every writing transaction strict", async () => {
    const began: (string | undefined)[] = [];
    const real = IDBDatabase.prototype.transaction;
    IDBDatabase.prototype.transaction = function (stores, mode, options) {
      if (this.name === "outbox" && mode === "readwrite") began.push(options?.durability);
      return real.call(this, stores, mode, options);
    };
    try {
      await append([note("a")], null);
      await putLive("form", { open: true });
      await drain(new FakeServer().carrier());
      await dropDurable(10);
    } finally {
      IDBDatabase.prototype.transaction = real;
    }
    expect(began.length).toBeGreaterThanOrEqual(4);
    expect(new Set(began)).toEqual(new Set(["strict"]));
  });

  it("refuses more than 64 KiB before anything is saved", async () => {
    const failure = append([note("small"), note("x".repeat(EVENT_LIMIT_BYTES))], null);
    await expect(failure).rejects.toMatchObject({ code: "too_large" });
    expect(await readEvents()).toEqual([]);
    expect((await append([note("next")], null))[0]?.tablet_seq).toBe(1);
  });

  it("refuses in a tab that does not write", async () => {
    forgetWriter();
    await expect(append([note("a")], null)).rejects.toMatchObject({ code: "read_only_tab" });
    expect(await claimWriter()).toBe("reader");
  });

  it("refuses before enrolment", async () => {
    await freshTablet({}, false);
    await claimWriter();
    await expect(append([note("a")], null)).rejects.toMatchObject({ code: "not_enrolled" });
  });

  it("saves nothing where another tab wrote in between", async () => {
    await append([note("a")], null);
    const real = crypto.subtle.encrypt.bind(crypto.subtle);
    crypto.subtle.encrypt = async (...input) => {
      const transaction = (await outbox()).transaction("writer", "readwrite");
      await transaction.store.put({ next: 9 }, "seq");
      await transaction.done;
      return real(...input);
    };
    try {
      await expect(append([note("b")], null)).rejects.toMatchObject({ code: "seq_moved" });
    } finally {
      crypto.subtle.encrypt = real;
    }
    expect((await readEvents()).map((event) => event.payload.text)).toEqual(["a"]);
  });

  it("says so where there is no space, and shows nothing as saved", async () => {
    const real = IDBObjectStore.prototype.add;
    IDBObjectStore.prototype.add = function () { throw new DOMException("full", "QuotaExceededError"); };
    try {
      await expect(append([note("a")], null)).rejects.toMatchObject({ code: "quota" });
    } finally {
      IDBObjectStore.prototype.add = real;
    }
    expect(await readEvents()).toEqual([]);
  });

  it("saves none of several where a later one cannot be handed over", async () => {
    const real = IDBObjectStore.prototype.add;
    let calls = 0;
    IDBObjectStore.prototype.add = function (...input) {
      calls += 1;
      if (calls === 2) throw new DOMException("no more", "QuotaExceededError");
      return real.apply(this, input);
    };
    try {
      await expect(append([note("a"), note("b"), note("c")], null)).rejects.toMatchObject({ code: "quota" });
    } finally {
      IDBObjectStore.prototype.add = real;
    }
    expect(await readEvents()).toEqual([]);
    expect((await append([note("d")], null))[0]?.tablet_seq).toBe(1);
  });

  it("does not resolve where the transaction aborts after its last put", async () => {
    const real = IDBObjectStore.prototype.add;
    IDBObjectStore.prototype.add = function (...input) {
      const request = real.apply(this, input);
      request.addEventListener("success", () => this.transaction.abort());
      return request;
    };
    try {
      await expect(append([note("a")], null)).rejects.toMatchObject({ code: "database_dead" });
    } finally {
      IDBObjectStore.prototype.add = real;
    }
    expect(await readEvents()).toEqual([]);
  });

  it("opens a dead handle again once", async () => {
    await append([note("a")], null);
    (await outbox()).close();
    expect((await append([note("b")], null))[0]?.tablet_seq).toBe(2);
    await closeOutbox();
    expect(await readEvents()).toHaveLength(2);
  });

  it("takes a draft back unharmed: the caller's object is not touched and not shared", async () => {
    const draft = note("a");
    const [saved] = await append([draft], null);
    if (saved === undefined) throw new Error("nothing saved");
    saved.payload.text = "changed";
    expect(draft.payload).toEqual({ text: "a" });
    expect((await readEvents())[0]?.payload.text).toBe("a");
  });
});

describe("live", () => {
  it("keeps a value over a crash, sealed, and forgets it on null", async () => {
    await putLive("form", { site: "canary-9912" });
    await crashTab();
    expect(await getLive("form")).toEqual({ site: "canary-9912" });
    const row = await (await outbox()).get("live", "form");
    expect(new TextDecoder().decode(row?.sealed)).not.toContain("canary");
    await putLive("form", null);
    expect(await getLive("form")).toBeNull();
  });
});

describe("drain", () => {
  it("sends at most 50 events and 256 KiB, in order", async () => {
    await append(Array.from({ length: 120 }, (_, index) => note(`n${index}`)), null);
    const server = new FakeServer();
    expect(await drain(server.carrier())).toBe("empty");
    expect(server.batches).toEqual([50, 50, 20]);
    expect(server.held.map((item) => item.tablet_seq)).toEqual(Array.from({ length: 120 }, (_, index) => index + 1));

    await append(Array.from({ length: 9 }, () => note("x".repeat(60_000))), null);
    const bytes: number[] = [];
    const carrier = server.carrier();
    await drain({ ...carrier, push: (items) => {
      bytes.push(utf8(JSON.stringify({ protocol: 1, epoch: "e", items })).length);
      return carrier.push(items);
    } });
    expect(Math.max(...bytes)).toBeLessThanOrEqual(256 * 1024);
    expect(bytes.length).toBe(3);
    expect(await countWaiting()).toBe(0);
  });

  it("halves on 413, renews once on 401, and keeps everything", async () => {
    await append(Array.from({ length: 8 }, () => note("a")), null);
    const server = new FakeServer();
    server.fault.push("413", "413", "401");
    expect(await drain(server.carrier())).toBe("empty");
    expect(server.batches).toEqual([8, 4, 2, 2, 2, 2, 2]);
    expect(server.renewals).toBe(1);
    expect((await readEvents()).every((event) => event.state === "settled")).toBe(true);
    expect(await readEvents()).toHaveLength(8);
  });

  it("pauses at a second 401 with a notice", async () => {
    await append([note("a")], null);
    const server = new FakeServer();
    server.fault.push("401", "401");
    expect(await drain(server.carrier())).toBe("pause");
    expect(server.raised).toEqual(["tablet_signed_out"]);
    expect(await countWaiting()).toBe(1);
  });

  it("lets one sender at a time through", async () => {
    await append([note("a")], null);
    const server = new FakeServer();
    const ends = await Promise.all([1, 2, 3, 4, 5].map(() => drain(server.carrier())));
    expect(ends.filter((end) => end === "busy")).toHaveLength(4);
    expect(server.batches).toEqual([1]);
  });

  it("offers again what a restored server no longer holds", async () => {
    await append([note("a"), note("b"), note("c")], null);
    const server = new FakeServer();
    await drain(server.carrier());
    server.held.splice(1);
    await append([note("d")], null);
    expect(await drain(server.carrier())).toBe("wait");
    expect(await drain(server.carrier())).toBe("empty");
    expect(server.held.map((item) => item.tablet_seq)).toEqual([1, 2, 3, 4]);
  });

  it("does not settle another event that has the same number", async () => {
    await append([note("a")], null);
    await settle([{ event_id: "another", tablet_seq: 1, outcome: "applied" }], null);
    expect((await readEvents())[0]?.state).toBe("waiting");
  });
});

describe("dropping", () => {
  it("takes only what is old, settled and inside the backup", async () => {
    await append([note("a"), note("b"), note("c")], null);
    await drain(new FakeServer().carrier());
    await append([note("d")], null);
    tablet.clock.ms += 31 * 86_400_000;
    expect(await dropDurable(null)).toBe(0);
    expect(await dropDurable(2)).toBe(2);
    expect((await readEvents()).map((event) => event.payload.text)).toEqual(["c", "d"]);
  });
});

describe("strictly", () => {
  it("gives a transaction that says so", async () => {
    const transaction = await strictly(["live"]);
    expect(transaction.durability).toBe("strict");
    await transaction.done;
  });
});
