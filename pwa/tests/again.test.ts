/** A tablet that is enrolled again: what waits goes along as it was made, signed by the new key. */
import { beforeEach, expect, it } from "vitest";
import { base64url, utf8 } from "../src/events/bytes";
import type { Item } from "../src/events/build";
import { setSurroundings, surroundings } from "../src/events/surroundings";
import { append } from "../src/outbox/append";
import { drain, type Carrier } from "../src/outbox/drain";
import { decide } from "../src/outbox/policy";
import { firstUnsent, readEvents, readWaiting } from "../src/outbox/read";
import { settle } from "../src/outbox/settle";
import { attention, identity, raiseAttention } from "../src/store/identity";
import { enrolAgain, verifySignature } from "../src/sync/enrol";
import { askAsTablet, forgetToken } from "../src/sync/token";
import { freshTablet, loseStorage, note, publicText, type Tablet } from "./support/tablet";
import { json } from "./support/memory-server";

interface Sent { path: string; body: Record<string, unknown> }

let sent: Sent[];
let tablet: Tablet;
/** Whether the server knows the tablet; what a restored one has forgotten it does not. */
let known: boolean;

/** What a server answers to an enrolment; the keep key is that of the first one. */
async function serve(path: string, init: RequestInit): Promise<Response> {
  const name = path.replace("/api/v1/", "");
  const body = (typeof init.body === "string" ? JSON.parse(init.body) : {}) as Record<string, unknown>;
  sent.push({ path: name, body });
  if (name === "tablet/enrol") {
    const text = JSON.stringify({ tablet_id: "t-2", location_id: tablet.identity.location_id, public_key: body.public_key, issued_at: "x" });
    const signature = base64url(new Uint8Array(
      await crypto.subtle.sign({ name: "ECDSA", hash: "SHA-256" }, tablet.server.privateKey, utf8(text))));
    return json({
      ...tablet.identity, tablet_id: "t-2", server_public_key: await publicText(tablet.server.publicKey),
      certificate: { text, signature }, keep_key: tablet.keep_key,
    }, 201);
  }
  if (name === "tablet/challenge") return json({ nonce: "n" });
  if (name === "tablet/token") {
    return known || body.certificate ? json({ token: "a-token" }) : json({ code: "tablet_unproven", detail: "unproven" }, 401);
  }
  return json({ path: name });
}

beforeEach(async () => {
  sent = [];
  known = true;
  forgetToken();
  tablet = await freshTablet({ fetch: serve });
});

async function threeOfWhichOneIsSent(): Promise<Item[]> {
  await append([note("one"), note("two"), note("three")], "somebody");
  const [first] = await readWaiting(3);
  await settle([{ event_id: first!.event_id, tablet_seq: 1, outcome: "applied", position: 1 }], null);
  return readWaiting(3);
}

it("keeps the texts and numbers of what waits, and signs them with the new key", async () => {
  const before = await threeOfWhichOneIsSent();
  await raiseAttention("fork", "two of it", true);
  const after = await enrolAgain("ABCDE-FGHJK", "tablet one");
  expect(sent[0]).toMatchObject({ path: "tablet/enrol", body: { before: { certificate: tablet.identity.certificate, next_seq: 2 } } });
  expect(after.tablet_id).toBe("t-2");
  const waiting = await readWaiting(5);
  const texts = (items: Item[]) => items.map(({ signature: _, ...rest }) => rest);
  expect(texts(waiting)).toEqual(texts(before));
  for (const item of waiting) {
    expect(await verifySignature(after.public_key, item.body, item.signature)).toBe(true);
    expect(await verifySignature(tablet.identity.public_key, item.body, item.signature)).toBe(false);
  }
  // What was sent before is still here: it is the evidence.
  expect((await readEvents()).map((one) => [one.tablet_seq, one.state])).toEqual([[1, "settled"], [2, "waiting"], [3, "waiting"]]);
  // What stood in the way is gone, and the next entry goes on in the same row.
  expect(await attention()).toBeNull();
  const [next] = await append([note("four")], "somebody");
  expect([next!.tablet_seq, next!.body.tablet_id]).toEqual([4, "t-2"]);
});

it("asks for the number after the last where nothing waits", async () => {
  expect(await firstUnsent()).toBe(1);
  await append([note("one")], "somebody");
  const [first] = await readWaiting(1);
  await settle([{ event_id: first!.event_id, tablet_seq: 1, outcome: "applied", position: 1 }], null);
  expect(await firstUnsent()).toBe(2);
});

it("has everything in its second copy, under the same PINs", async () => {
  await threeOfWhichOneIsSent();
  await enrolAgain("ABCDE-FGHJK", "tablet one");
  await loseStorage();
  expect((await identity())?.tablet_id).toBe("t-2");
  expect((await readEvents()).map((one) => (one.payload as { text?: string }).text)).toEqual(["one", "two", "three"]);
});

it("leaves everything as it was where the server refuses the code", async () => {
  await threeOfWhichOneIsSent();
  await raiseAttention("fork", "two of it", true);
  setSurroundings({ ...surroundings(), fetch: () => Promise.resolve(json({ code: "code_wrong", detail: "no" }, 401)) });
  await expect(enrolAgain("WRONG-WRONG", "tablet one")).rejects.toMatchObject({ code: "code_wrong" });
  expect((await identity())?.tablet_id).toBe(tablet.identity.tablet_id);
  expect((await attention())?.code).toBe("fork");
  const [second] = await readWaiting(1);
  expect(await verifySignature(tablet.identity.public_key, second!.body, second!.signature)).toBe(true);
});

it("does not begin while entries are being sent", async () => {
  await append([note("one")], "somebody");
  const order: string[] = [];
  let answer!: () => void;
  const carrier: Carrier = {
    push: (items) => new Promise((resolve) => {
      order.push("sent");
      answer = () => resolve({ status: 200, results: items.map((item) => ({ event_id: item.event_id, tablet_seq: item.tablet_seq, outcome: "applied", position: 1 })) });
    }),
    renew: () => Promise.resolve(true),
    follow: () => Promise.resolve(false),
    raise: () => Promise.resolve(),
  };
  const draining = drain(carrier).then(() => order.push("answered"));
  await expect.poll(() => order).toEqual(["sent"]);
  const enrolling = enrolAgain("ABCDE-FGHJK", "tablet one").then(() => order.push("enrolled"));
  answer();
  await Promise.all([draining, enrolling]);
  expect(order).toEqual(["sent", "answered", "enrolled"]);
  expect(sent.find(({ path }) => path === "tablet/enrol")?.body).toMatchObject({ before: { next_seq: 2 } });
});

it("shows a server that has forgotten it the certificate", async () => {
  known = false;
  expect((await askAsTablet("sync/pull")).status).toBe(200);
  const asked = sent.filter(({ path }) => path === "tablet/token");
  expect(asked.map(({ body }) => body.certificate !== undefined)).toEqual([false, true]);
  expect(asked[1]?.body.label).toBe("tablet one");
});

it("says what a refusal of this tablet means", () => {
  expect(decide(403, true, 1, "tablet_unconfirmed")).toMatchObject({ kind: "pause", code: "tablet_unconfirmed" });
  expect(decide(403, true, 1, "tablet_revoked")).toMatchObject({ kind: "pause", code: "tablet_revoked" });
  expect(decide(403, true, 1, "something_else")).toMatchObject({ kind: "pause", code: "tablet_not_allowed" });
});
