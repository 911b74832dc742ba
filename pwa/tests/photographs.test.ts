/** Pictures beside the outbox: sealed, sent after their entries and once, dropped late. */

import { beforeEach, describe, expect, it } from "vitest";
import { setPicturePlace, type PicturePlace } from "../src/copy/pictures";
import { hex, sha256 } from "../src/events/bytes";
import type { Item } from "../src/events/build";
import { setSurroundings, surroundings, type Bytes } from "../src/events/surroundings";
import { append } from "../src/outbox/append";
import {
  closePhotographs, dropOldPhotographs, dropPhotograph, keepPhotograph, namePhotograph, photographBytes, photographsDue, photographStates,
  photographsToPlace, placePhotographs, reofferPhotographs,
  takeBackPhotograph,
} from "../src/outbox/photographs";
import { settle } from "../src/outbox/settle";
import { house } from "../src/store/house";
import { readKeys } from "../src/store/keys";
import { signInWithPin, signOutPerson } from "../src/sync/people";
import { fetchPhotograph, forgetTakenIn, sendPhotographs, takeInLost } from "../src/sync/photographs";
import { forgetToken } from "../src/sync/token";
import { fitted } from "../src/session/picture";
import type { EventDraft } from "../src/events/build";
import { freshTablet, note, PERSON_ID, type Tablet } from "./support/tablet";

const RECORD = "01939a2b-0000-7000-8000-00000000cccc";
// Not a picture: what these tests are about never looks inside.
const BYTES = Uint8Array.from({ length: 70_000 }, (_, at) => at % 251) as Bytes;
const QUIET_MS = 15_000;
const DAY_MS = 86_400_000;

interface Put { path: string; type: string | null; person: string | null; hash: string }

class PictureServer {
  readonly puts: Put[] = [];
  readonly held = new Map<string, Bytes>();
  answers: { status: number; code: string }[] = [];
  reachable = true;

  fetch = async (path: string, init: RequestInit): Promise<Response> => {
    if (!this.reachable) throw new TypeError("no network");
    const name = path.replace("/api/v1/", "");
    const headers = new Headers(init.headers);
    if (name === "tablet/challenge") return json({ nonce: "n" });
    if (name === "tablet/token") return json({ token: "t" });
    if (name === "session/pin") return json({ person_token: "p", expires_at: "x", person: { person_id: PERSON_ID } });
    const hash = name.replace("attachments/", "");
    if (init.method === "PUT") {
      const content = new Uint8Array(init.body as ArrayBuffer) as Bytes;
      this.puts.push({
        path: name, type: headers.get("Content-Type"), person: headers.get("Dosebook-Person"), hash: hex(await sha256(content)),
      });
      const refused = this.answers.shift();
      if (refused) return json({ code: refused.code }, refused.status);
      this.held.set(hash, content);
      return json({ sha256: hash });
    }
    const found = this.held.get(hash);
    return found ? new Response(found, { headers: { "Content-Type": "image/jpeg" } }) : json({ code: "attachment_unknown" }, 404);
  };
}

function json(body: object, status = 200): Response {
  return new Response(JSON.stringify(body), { status, headers: { "Content-Type": "application/json" } });
}

/** Files in memory: they outlive a lost IndexedDB. */
class PicturesInMemory implements PicturePlace {
  readonly files = new Map<string, { content: Bytes; written_ms: number }>();
  failing = false;

  put(tablet_id: string, name: string, content: Bytes): Promise<void> {
    if (this.failing) return Promise.reject(new DOMException("full", "QuotaExceededError"));
    this.files.set(`${tablet_id}/${name}`, { content, written_ms: surroundings().now() });
    return Promise.resolve();
  }
  list(tablet_id: string): Promise<string[]> {
    return Promise.resolve([...this.files.keys()].filter((key) => key.startsWith(`${tablet_id}/`)).map((key) => key.split("/")[1]!));
  }
  read(tablet_id: string, name: string) {
    return Promise.resolve(this.files.get(`${tablet_id}/${name}`) ?? null);
  }
  remove(tablet_id: string, name: string): Promise<void> {
    this.files.delete(`${tablet_id}/${name}`);
    return Promise.resolve();
  }
}

function attachment(name: string): EventDraft {
  return {
    type: "attachment.added", entity_id: RECORD,
    payload: {
      attachment_id: "a", kind: "photograph", sha256: name, media_type: "image/jpeg", size_bytes: BYTES.length,
      width_px: 1, height_px: 1, caption: null, taken_at: "2026-11-25T11:00:00.000+01:00",
    },
  };
}

/** The browser finds the database of the pictures empty, and the page starts again. */
async function loseDatabase(): Promise<void> {
  await closePhotographs();
  await new Promise<void>((done, failed) => {
    const asked = indexedDB.deleteDatabase("photographs");
    asked.onsuccess = () => done();
    asked.onerror = () => failed(new Error("not deleted"));
  });
  forgetTakenIn();
}

let copies: PicturesInMemory;
let tablet: Tablet;
let server: PictureServer;
let hash: string;

beforeEach(async () => {
  signOutPerson();
  forgetToken();
  forgetTakenIn();
  copies = new PicturesInMemory();
  setPicturePlace(copies);
  tablet = await freshTablet();
  server = new PictureServer();
  setSurroundings({ ...surroundings(), fetch: server.fetch });
  hash = hex(await sha256(BYTES));
});

/** Keep the picture, save the entry that names it, and let the server answer that with `outcome`. */
async function kept(outcome: string | null = "applied", bytes: Bytes = BYTES): Promise<string> {
  const name = hex(await sha256(bytes));
  await keepPhotograph(RECORD, name, bytes);
  const [event] = await append([note("names a picture")], null);
  await namePhotograph(name, event!.tablet_seq);
  if (outcome !== null) await answer(event!, outcome);
  return name;
}

async function answer(event: Pick<Item, "event_id" | "tablet_seq">, outcome: string): Promise<void> {
  await settle([{ event_id: event.event_id, tablet_seq: event.tablet_seq, outcome, position: 1 }], null);
}

const states = async () => (await photographStates()).map((row) => [row.state, row.failures, row.problem]);

describe("a kept picture", () => {
  it("comes back byte by byte and lies sealed", async () => {
    await keepPhotograph(RECORD, hash, BYTES);
    expect(hex(await sha256((await photographBytes(hash))!))).toBe(hash);
    expect(await photographBytes("0".repeat(64))).toBeNull();
    const database = await new Promise<IDBDatabase>((done, failed) => {
      const asked = indexedDB.open("photographs");
      asked.onsuccess = () => done(asked.result);
      asked.onerror = () => failed(asked.error!);
    });
    const row = await new Promise<{ sealed: ArrayBuffer }>((done) => {
      const asked = database.transaction("photographs").objectStore("photographs").get(hash);
      asked.onsuccess = () => done(asked.result as { sealed: ArrayBuffer });
    });
    database.close();
    // AES-GCM adds its tag of 16 bytes, and nothing of the content stands in the clear.
    expect(row.sealed.byteLength).toBe(BYTES.length + 16);
    expect(Buffer.from(row.sealed).includes(Buffer.from(BYTES.subarray(0, 64)))).toBe(false);
  });

  it("is the same when it is kept again, and goes only while no entry names it", async () => {
    const name = await kept();
    await keepPhotograph(RECORD, name, BYTES);
    await dropPhotograph(name);
    expect((await photographStates(RECORD))[0]?.tablet_seq).not.toBeNull();
    const other = Uint8Array.of(1, 2, 3) as Bytes;
    const unnamed = hex(await sha256(other));
    await keepPhotograph(RECORD, unnamed, other);
    await dropPhotograph(unnamed);
    expect(await photographBytes(unnamed)).toBeNull();
  });
});

describe("sending", () => {
  it("waits until the entry is on the server, and a while for it to be taken back", async () => {
    await kept(null);
    tablet.clock.ms += QUIET_MS;
    expect(await photographsDue()).toEqual([]);
    for (const [outcome, due] of [["gap", 0], ["quarantined", 1], ["applied", 1], ["duplicate", 1], ["conflict", 1]] as const) {
      tablet = await freshTablet();
      const name = await kept(outcome);
      expect(await photographsDue()).toEqual([]);
      tablet.clock.ms += QUIET_MS - 1;
      expect(await photographsDue()).toEqual([]);
      tablet.clock.ms += 1;
      expect(await photographsDue()).toEqual(due ? [name] : []);
      await takeBackPhotograph(name, true);
      expect(await photographsDue()).toEqual([]);
      await takeBackPhotograph(name, false);
      expect(await photographsDue()).toHaveLength(due);
    }
  });

  it("sends once, as what it is, by itself: also while nobody is signed in", async () => {
    const name = await kept();
    tablet.clock.ms += QUIET_MS;
    await sendPhotographs();
    await sendPhotographs();
    expect(server.puts).toEqual([{ path: `attachments/${name}`, type: "image/jpeg", person: null, hash: name }]);
    expect(await states()).toEqual([["sent", 0, null]]);
  });

  it("comes back with growing pauses after a failure", async () => {
    await kept();
    await signInWithPin(PERSON_ID, "135790");
    tablet.clock.ms += QUIET_MS;
    server.answers = [{ status: 503, code: "database_busy" }, { status: 401, code: "person_needed" }];
    await sendPhotographs();
    expect(await states()).toEqual([["waiting", 1, null]]);
    await sendPhotographs();
    expect(server.puts).toHaveLength(1);
    // By hand: the first pause is 1 s, the second 2 s times (0.5 + 0.5 / 2) = 1.5 s.
    tablet.clock.ms += 1_000;
    await sendPhotographs();
    expect(await states()).toEqual([["waiting", 2, null]]);
    tablet.clock.ms += 1_499;
    expect(await photographsDue()).toEqual([]);
    tablet.clock.ms += 1;
    server.reachable = false;
    await sendPhotographs();
    expect(await states()).toEqual([["waiting", 3, null]]);
    server.reachable = true;
    tablet.clock.ms += 300_000;
    await sendPhotographs();
    expect(await states()).toEqual([["sent", 3, null]]);
  });

  it("does not offer again what the server will never take", async () => {
    for (const [status, code] of [[422, "attachment_metadata"], [413, "too_large"], [415, "wrong_media_type"]] as const) {
      tablet = await freshTablet({ fetch: server.fetch });
      await kept();
      await signInWithPin(PERSON_ID, "135790");
      tablet.clock.ms += QUIET_MS;
      server.answers = [{ status, code }];
      await sendPhotographs();
      expect(await states()).toEqual([["refused", 0, code]]);
      tablet.clock.ms += DAY_MS;
      expect(await photographsDue()).toEqual([]);
    }
  });

  it("passes over a picture whose key this browser no longer has", async () => {
    const name = await kept();
    const other = await crypto.subtle.generateKey({ name: "AES-GCM", length: 256 }, false, ["encrypt", "decrypt"]);
    await (await house()).put("keys", { ...(await readKeys())!, seal: other }, "ring");
    await signInWithPin(PERSON_ID, "135790");
    tablet.clock.ms += QUIET_MS;
    await sendPhotographs();
    expect(server.puts).toEqual([]);
    expect(await states()).toEqual([["refused", 0, "unreadable_here"]]);
    await expect(photographBytes(name)).rejects.toThrow();
  });

  it("goes on with the others after one that is refused", async () => {
    await kept();
    await kept("applied", Uint8Array.of(9, 9) as Bytes);
    await signInWithPin(PERSON_ID, "135790");
    tablet.clock.ms += QUIET_MS;
    server.answers = [{ status: 422, code: "attachment_not_jpeg" }];
    await sendPhotographs();
    expect((await states()).map(([state]) => state).sort()).toEqual(["refused", "sent"]);
  });
});

describe("the second copy", () => {
  it("brings a picture back after the database was lost, and it is sent", async () => {
    await keepPhotograph(RECORD, hash, BYTES);
    const [event] = await append([attachment(hash)], null);
    await namePhotograph(hash, event!.tablet_seq);
    await answer(event!, "applied");
    await loseDatabase();
    expect(await photographBytes(hash)).toBeNull();
    await takeInLost();
    expect(hex(await sha256((await photographBytes(hash))!))).toBe(hash);
    expect(await photographStates(RECORD)).toMatchObject([
      { sha256: hash, tablet_seq: event!.tablet_seq, state: "waiting", size_bytes: BYTES.length },
    ]);
    await signInWithPin(PERSON_ID, "135790");
    tablet.clock.ms += QUIET_MS;
    await sendPhotographs();
    expect(hex(await sha256(server.held.get(hash)!))).toBe(hash);
    expect(copies.files.size).toBe(0);
  });

  it("is what brings it back: without one the picture is gone", async () => {
    copies.failing = true;
    await keepPhotograph(RECORD, hash, BYTES);
    expect(hex(await sha256((await photographBytes(hash))!))).toBe(hash);
    await loseDatabase();
    await takeInLost();
    expect(await photographStates()).toEqual([]);
  });

  it("goes when the picture goes", async () => {
    await keepPhotograph(RECORD, hash, BYTES);
    expect(copies.files.size).toBe(1);
    await dropPhotograph(hash);
    expect(copies.files.size).toBe(0);
  });

  it("holds nothing in the clear", async () => {
    await keepPhotograph(RECORD, hash, BYTES);
    const [file] = [...copies.files.values()];
    expect(Buffer.from(file!.content).includes(Buffer.from(BYTES.subarray(0, 64)))).toBe(false);
  });

  it("finds the entry of a picture that was cut off from it", async () => {
    await keepPhotograph(RECORD, hash, BYTES);
    const [event] = await append([attachment(hash)], null);
    await takeInLost();
    expect((await photographStates())[0]?.tablet_seq).toBe(event!.tablet_seq);
  });
});

describe("afterwards", () => {
  it("drops what is a week old and in a backup, and what nothing names, never what still waits", async () => {
    const sent = await kept();
    await signInWithPin(PERSON_ID, "135790");
    tablet.clock.ms += QUIET_MS;
    await sendPhotographs();
    const waiting = await kept(null, Uint8Array.of(1) as Bytes);
    const unnamed = hex(await sha256(Uint8Array.of(2) as Bytes));
    await keepPhotograph(RECORD, unnamed, Uint8Array.of(2) as Bytes);
    expect(await photographsToPlace()).toEqual([sent]);
    await placePhotographs([sent], 40);
    expect(await photographsToPlace()).toEqual([]);
    tablet.clock.ms += 7 * DAY_MS - QUIET_MS;
    expect(await dropOldPhotographs(41)).toBe(0);
    tablet.clock.ms += 2 * QUIET_MS;
    expect(await dropOldPhotographs(41)).toBe(2);
    expect((await photographStates()).map((row) => row.sha256)).toEqual([waiting]);
    expect(await photographBytes(sent)).toBeNull();
  });

  // The server's log went up to 40 when it had the picture already: a backup up to 40 may be older.
  it.each([[40, null, 0], [40, 40, 0], [40, 41, 1], [null, 41, 0]] as const)(
    "keeps a picture that the server had by entry %s while a backup goes up to %s", async (there_by, durable, dropped) => {
      const sent = await kept();
      await signInWithPin(PERSON_ID, "135790");
      tablet.clock.ms += QUIET_MS;
      await sendPhotographs();
      if (there_by !== null) await placePhotographs([sent], there_by);
      tablet.clock.ms += 400 * DAY_MS;
      expect(await dropOldPhotographs(durable)).toBe(dropped);
      expect((await photographBytes(sent)) === null).toBe(dropped === 1);
    });

  it("asks anew where a picture is after a restore", async () => {
    const sent = await kept();
    await signInWithPin(PERSON_ID, "135790");
    tablet.clock.ms += QUIET_MS;
    await sendPhotographs();
    await placePhotographs([sent], 40);
    await reofferPhotographs();
    await sendPhotographs();
    tablet.clock.ms += 8 * DAY_MS;
    expect(await dropOldPhotographs(41)).toBe(0);
    expect(await photographsToPlace()).toEqual([sent]);
  });

  it("gets a picture of another tablet from the server, and says where there is none", async () => {
    await signInWithPin(PERSON_ID, "135790");
    server.held.set(hash, BYTES);
    expect(hex(await sha256((await fetchPhotograph(hash, false))!))).toBe(hash);
    expect(await fetchPhotograph("1".repeat(64), false)).toBeNull();
    server.reachable = false;
    await expect(fetchPhotograph(hash, false)).rejects.toThrow("cannot be reached");
  });
});

it("fits pictures by hand: 4000 x 3000 to 2048 x 1536, never larger than they were", () => {
  expect(fitted(4000, 3000)).toEqual({ width_px: 2048, height_px: 1536 });
  expect(fitted(3000, 4000)).toEqual({ width_px: 1536, height_px: 2048 });
  expect(fitted(640, 480)).toEqual({ width_px: 640, height_px: 480 });
  expect(fitted(20_000, 1)).toEqual({ width_px: 2048, height_px: 1 });
});
