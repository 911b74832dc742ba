/** A fresh tablet in fake-indexeddb: own databases, own locks, a clock that is set and counted randomness. */

import "fake-indexeddb/auto";
import { IDBFactory } from "fake-indexeddb";
import { base64url } from "../../src/events/bytes";
import type { EventDraft } from "../../src/events/build";
import { setSurroundings, surroundings, type Surroundings } from "../../src/events/surroundings";
import { closeOutbox } from "../../src/outbox/database";
import { forgetRead } from "../../src/outbox/read";
import { claimWriter, forgetWriter } from "../../src/outbox/writer";
import { closeHouse, type Identity } from "../../src/store/house";
import { putIdentity } from "../../src/store/identity";
import { makeKeys } from "../../src/store/keys";
import { Locks } from "./locks";

export interface Tablet { identity: Identity; clock: { ms: number }; server: CryptoKeyPair }

export const START_MS = Date.parse("2026-11-25T10:15:30.123Z");

/** Begin again with nothing stored. Without `enrolled` no identity is put there. */
export async function freshTablet(
  replaced: Partial<Surroundings> = {}, enrolled = true,
): Promise<Tablet> {
  forgetRead();
  await closeOutbox();
  await closeHouse();
  globalThis.indexedDB = new IDBFactory();
  forgetWriter();
  const clock = { ms: START_MS };
  const locks = new Locks();
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
  const ring = await makeKeys();
  const identity: Identity = {
    tablet_id: "01939a2b-0000-7000-8000-00000000aaaa",
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
  };
  if (enrolled) {
    await putIdentity(identity, ring);
    await claimWriter();
  }
  return { identity, clock, server };
}

/** A tab crashes and another begins: databases are left, memory and locks are gone. */
export async function crashTab(): Promise<void> {
  forgetRead();
  await closeOutbox();
  await closeHouse();
  forgetWriter();
  const locks = new Locks();
  setSurroundings({ ...surroundings(), locks: () => locks });
  await claimWriter();
}

export async function publicText(key: CryptoKey): Promise<string> {
  return base64url(new Uint8Array(await crypto.subtle.exportKey("spki", key)));
}

export function note(text: string, entity_id = "01939a2b-0000-7000-8000-00000000cccc"): EventDraft {
  return { type: "procedure.noted", entity_id, payload: { text } };
}
