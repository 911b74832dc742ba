/** The second copy: whatever is lost beside it, what was shown as saved is in one of the two. */

import { beforeEach, describe, expect, it, vi } from "vitest";
import { copyRows, lastCopied, readCopy } from "../src/copy/copy";
import { fromLines, toLine } from "../src/copy/lines";
import { append } from "../src/outbox/append";
import { getLive, putLive } from "../src/outbox/live";
import { readEvents } from "../src/outbox/read";
import { bringBackHouse, bringBackKeys, waitsForPin } from "../src/outbox/restore";
import { attention, identity } from "../src/store/identity";
import { documents, storePage } from "../src/store/documents";
import { readKeys, sign } from "../src/store/keys";
import { PinError, signInWithPin, signOutPerson } from "../src/sync/people";
import { utf8, fromBase64url } from "../src/events/bytes";
import { CopyInMemory } from "./support/copies";
import { crashTab, freshTablet, loseStorage, note, PERSON_ID, PIN, wipeStorage, type Tablet } from "./support/tablet";

let place: CopyInMemory;
let tablet: Tablet;
const entries = (): string => `${tablet.identity.tablet_id}/entries`;
const texts = async (): Promise<unknown[]> => (await readEvents()).map((event) => event.payload.text);

beforeEach(async () => {
  place = new CopyInMemory();
  tablet = await freshTablet({}, true, place);
  signOutPerson();
});

describe("lines", () => {
  it("pass over what a kill has torn, wherever it stands", async () => {
    const [one, two] = [await toLine({ n: 1 }), await toLine({ n: 2 })];
    expect(await fromLines(`${one}${two.slice(0, 9)}\n${two}${one.slice(0, -4)}`)).toEqual([{ n: 1 }, { n: 2 }]);
  });

  it("do not take a changed line for a whole one", async () => {
    expect(await fromLines((await toLine({ n: 1 })).replace("1}", "7}"))).toEqual([]);
  });
});

describe("a lost database", () => {
  it("comes back with its entries, keys, drafts and registers, without a network", async () => {
    await append([note("a"), note("b")], null);
    await putLive("timer", { started_ms: 5 });
    await storePage("house", [{ kind: "preset", doc_id: "p", position: 1, body: { name: "x" } }], "c", null);
    await loseStorage();
    await append([note("c")], null);
    expect(await texts()).toEqual(["a", "b", "c"]);
    expect((await readEvents()).map((event) => event.tablet_seq)).toEqual([1, 2, 3]);
    expect((await readEvents()).every((event) => event.state === "waiting")).toBe(true);
    expect(await getLive("timer")).toEqual({ started_ms: 5 });
    expect(await documents("preset")).toEqual([{ name: "x" }]);
    expect(await identity()).toEqual(tablet.identity);
  });

  it("comes back with the same signing key, and one that cannot be read out", async () => {
    await loseStorage();
    const ring = (await readKeys())!;
    const text = utf8("nonce");
    const spki = fromBase64url(tablet.identity.public_key);
    const key = await crypto.subtle.importKey("spki", spki, { name: "ECDSA", namedCurve: "P-256" }, false, ["verify"]);
    expect(await crypto.subtle.verify({ name: "ECDSA", hash: "SHA-256" }, key, await sign(ring, text), text)).toBe(true);
    await expect(crypto.subtle.exportKey("pkcs8", ring.sign.privateKey)).rejects.toThrow();
    await expect(crypto.subtle.exportKey("raw", ring.seal)).rejects.toThrow();
  });

  it("opens to a right PIN only, and counts the wrong ones", async () => {
    await append([note("a")], null);
    await wipeStorage();
    expect(await waitsForPin()).toBe(true);
    const wrong = await signInWithPin(PERSON_ID, "000000").catch((problem: unknown) => problem);
    expect(wrong).toBeInstanceOf(PinError);
    expect(wrong).toMatchObject({ code: "pin_wrong", attempts_left: 4 });
    expect(await readEvents()).toEqual([]);
    const stranger = await signInWithPin("somebody", PIN).catch((problem: unknown) => problem);
    expect(stranger).toMatchObject({ code: "pin_unknown_offline" });
    expect(await signInWithPin(PERSON_ID, PIN)).toMatchObject({ mode: "offline" });
    expect(await texts()).toEqual(["a"]);
  });

  it("is not taken for a new browser as long as a PIN opens its copy", async () => {
    await wipeStorage();
    expect(await identity()).toEqual(tablet.identity);
  });

  it("of a browser that was enrolled twice is the tablet that it became last", async () => {
    const first = place.texts.get(entries())!;
    tablet = await freshTablet({}, true, place, { tablet_id: "later", enrolled_at: "2026-11-26T11:00:00.000+01:00" });
    await append([note("later")], null);
    await loseStorage();
    expect(await texts()).toEqual(["later"]);
    // The earlier one is left as it was.
    expect(place.texts.get("01939a2b-0000-7000-8000-00000000aaaa/entries")).toBe(first);
  });

  it("without a copy leaves nothing to bring back", async () => {
    place.texts.clear();
    await wipeStorage();
    expect(await identity()).toBeNull();
    expect(await bringBackHouse()).toBeNull();
  });
});

describe("a torn write", () => {
  it("costs the entries that were not called saved, and no others", async () => {
    await append([note("a")], null);
    const before = place.texts.get(entries())!;
    await append([note("torn")], null);
    const whole = place.texts.get(entries())!;
    tablet = await freshTablet({}, false, place);
    // The kill came in the middle of the line, before the outbox had begun.
    place.texts.set(entries(), whole.slice(0, before.length + 40));
    await wipeStorage();
    await bringBackKeys(PERSON_ID, PIN);
    await append([note("b")], null);
    await loseStorage();
    expect(await texts()).toEqual(["a", "b"]);
  });

  it("of a whole line that no transaction followed is taken over at the next start", async () => {
    await append([note("a")], null);
    const before = place.texts.get(entries())!;
    await append([note("b")], null);
    const line = place.texts.get(entries())!.slice(before.length);
    // As if the page had been killed between the copy and the outbox.
    tablet = await freshTablet({}, false, place);
    place.texts.set(entries(), before + line);
    await bringBackHouse();
    await crashTab();
    expect(await bringBackKeys(PERSON_ID, PIN)).toBe(true);
    expect(await texts()).toEqual(["a", "b"]);
  });
});

describe("a save that fails in the outbox", () => {
  it("does not come back with the copy", async () => {
    await append([note("a")], null);
    vi.spyOn(IDBObjectStore.prototype, "add").mockImplementationOnce(() => {
      throw new DOMException("full", "QuotaExceededError");
    });
    await expect(append([note("refused")], null)).rejects.toMatchObject({ code: "quota" });
    expect(await lastCopied(tablet.identity.tablet_id)).toBe(1);
    await loseStorage();
    expect(await texts()).toEqual(["a"]);
  });

  it("is replaced by what is saved at its place", async () => {
    await append([note("a")], null);
    const [row] = (await readCopy(tablet.identity.tablet_id))!.rows;
    await copyRows([{ ...row!, tablet_seq: 2, event_id: "never" }, { ...row!, tablet_seq: 3, event_id: "never either" }]);
    await append([note("b")], null);
    const copy = await readCopy(tablet.identity.tablet_id);
    expect(copy!.rows.map(({ tablet_seq }) => tablet_seq)).toEqual([1, 2]);
    await loseStorage();
    expect(await texts()).toEqual(["a", "b"]);
  });
});

describe("a copy that cannot be written", () => {
  it("keeps nobody from saving, is said, and catches up when it can", async () => {
    place.failing = true;
    await append([note("a")], null);
    expect(await texts()).toEqual(["a"]);
    expect(await attention()).toMatchObject({ code: "second_copy_behind", blocking: false });
    place.failing = false;
    await append([note("b")], null);
    expect(await attention()).toBeNull();
    await loseStorage();
    expect(await texts()).toEqual(["a", "b"]);
  });

  it("catches up at the next start as well", async () => {
    place.failing = true;
    await append(Array.from({ length: 45 }, (_, index) => note(`n${index}`)), null);
    place.failing = false;
    await crashTab();
    expect(await lastCopied(tablet.identity.tablet_id)).toBe(45);
    await loseStorage();
    expect((await texts()).length).toBe(45);
  });
});

it("says nothing about a patient or a person's PIN in clear", async () => {
  await append([note("canary-4471")], null);
  await putLive("form", { site: "canary-9912" });
  const all = [...place.texts.values()].join("\n");
  expect(all).not.toMatch(/canary/);
  expect(all).not.toContain(PIN);
  expect(all).not.toContain(tablet.keep_key);
});
