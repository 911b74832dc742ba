/** A fresh tablet in fake-indexeddb: own databases, own locks, a clock that is set and counted randomness. */

import "fake-indexeddb/auto";
import { IDBFactory } from "fake-indexeddb";
import { beginCopy, closeCopy } from "../../src/copy/copy";
import { setCopyPlace, type CopyPlace } from "../../src/copy/files";
import { base64url } from "../../src/events/bytes";
import type { EventDraft } from "../../src/events/build";
import { setSurroundings, surroundings, type Surroundings } from "../../src/events/surroundings";
import { closeOutbox } from "../../src/outbox/database";
import { closePhotographs } from "../../src/outbox/photographs";
import { bringBackHouse, bringBackKeys } from "../../src/outbox/restore";
import { liveKept, openSecond } from "../../src/outbox/second";
import { claimWriter, forgetWriter } from "../../src/outbox/writer";
import { closeHouse, house, type Identity } from "../../src/store/house";
import { putIdentity } from "../../src/store/identity";
import { makePair, makeRing } from "../../src/store/keys";
import { rememberPin } from "../../src/store/people";
import { closeView } from "../../src/store/view";
import { CopyInMemory } from "./copies";
import { Locks } from "./locks";

export interface Tablet { identity: Identity; clock: { ms: number }; server: CryptoKeyPair; keep_key: string }

export const START_MS = Date.parse("2026-11-25T10:15:30.123Z");

/** Begin again with nothing stored. Without `enrolled` no identity is put there. */
export async function freshTablet(
  replaced: Partial<Surroundings> = {}, enrolled = true, place: CopyPlace = new CopyInMemory(),
  named: Partial<Identity> = {},
): Promise<Tablet> {
  await closeOutbox();
  await closePhotographs();
  await closeHouse();
  globalThis.indexedDB = new IDBFactory();
  forgetWriter();
  const clock = { ms: START_MS };
  const locks = new Locks();
  closeCopy();
  closeView();
  setCopyPlace(place);
  setSurroundings({
    now: () => clock.ms,
    zone: () => "Europe/Berlin",
    offsetMinutes: () => 60,
    fraction: () => 0.5,
    locks: () => locks,
    fetch: () => Promise.reject(new TypeError("no network")),
    ...replaced,
  });
  const server = await crypto.subtle.generateKey({ name: "ECDSA", namedCurve: "P-256" }, false, ["sign", "verify"]);
  const keep = crypto.getRandomValues(new Uint8Array(32));
  const tablet_id = named.tablet_id ?? "01939a2b-0000-7000-8000-00000000aaaa";
  const { ring, sign } = await makeRing(await makePair(), keep, tablet_id);
  const identity: Identity = {
    tablet_id,
    location_id: "01939a2b-0000-7000-8000-00000000bbbb",
    location_name: "Upstairs",
    practice_name: "Practice",
    zone: "Europe/Berlin",
    epoch: "epoch-1",
    label: "tablet one",
    public_key: await publicText(ring.sign.publicKey),
    server_public_key: await publicText(server.publicKey),
    certificate: { text: "{}", signature: "" },
    enrolled_at: "2026-11-25T11:00:00.000+01:00",
    ...named,
  };
  if (enrolled) {
    await putIdentity(identity, ring);
    await beginCopy(tablet_id, identity, sign);
    // Few rounds: how slow a guess is, is not what these tests are about.
    await (await house()).put("identity", { rounds: 1_000, took_ms: 1, at: "x" }, "stretching");
    const given = { keep_key: base64url(keep), view_key: null, secrets_changed_at: null };
    await rememberPin(PERSON_ID, PIN, { person_id: PERSON_ID, display_name: "A Person" }, given);
    await claimWriter();
  }
  return { identity, clock, server, keep_key: base64url(keep) };
}

/** A tab crashes and another begins: databases are left, memory and locks are gone. */
export async function crashTab(): Promise<void> {
  await closeOutbox();
  await closePhotographs();
  await closeHouse();
  closeCopy();
  forgetWriter();
  const locks = new Locks();
  setSurroundings({ ...surroundings(), locks: () => locks });
  await claimWriter();
  await openSecond();
}

export const PERSON_ID = "01939a2b-0000-7000-8000-00000000dddd";
export const PIN = "135790";

/** A killed browser finds its IndexedDB empty, and starts. */
export async function wipeStorage(): Promise<void> {
  await liveKept();
  await closeOutbox();
  await closePhotographs();
  await closeHouse();
  globalThis.indexedDB = new IDBFactory();
  await bringBackHouse();
  await crashTab();
}

/** As above; then somebody comes back and gives the PIN. */
export async function loseStorage(): Promise<void> {
  await wipeStorage();
  if (!(await bringBackKeys(PERSON_ID, PIN))) throw new Error("the PIN opens nothing");
}

export async function publicText(key: CryptoKey): Promise<string> {
  return base64url(new Uint8Array(await crypto.subtle.exportKey("spki", key)));
}

export function note(text: string, entity_id = "01939a2b-0000-7000-8000-00000000cccc"): EventDraft {
  return { type: "procedure.noted", entity_id, payload: { text } };
}
