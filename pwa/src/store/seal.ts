/** AES-GCM under a key of this tablet that cannot be extracted, so that the outbox drains while locked. */

import { text, utf8 } from "../events/bytes";
import { surroundings, type Bytes } from "../events/surroundings";

export interface Sealed { iv: Bytes; sealed: ArrayBuffer }

/** Encrypt a value; `place` says where it belongs, so that it cannot be moved to another row. */
export async function seal(key: CryptoKey, place: string, value: unknown): Promise<Sealed> {
  const iv = surroundings().random(12);
  const sealed = await crypto.subtle.encrypt(
    { name: "AES-GCM", iv, additionalData: utf8(place) }, key, utf8(JSON.stringify(value)));
  return { iv, sealed };
}

export async function unseal(key: CryptoKey, place: string, row: Sealed): Promise<unknown> {
  const clear = await crypto.subtle.decrypt(
    { name: "AES-GCM", iv: row.iv, additionalData: utf8(place) }, key, row.sealed);
  return JSON.parse(text(clear));
}

/** Encrypt bytes as they are. */
export async function sealBytes(key: CryptoKey, place: string, bytes: Bytes): Promise<Sealed> {
  const iv = surroundings().random(12);
  return { iv, sealed: await crypto.subtle.encrypt({ name: "AES-GCM", iv, additionalData: utf8(place) }, key, bytes) };
}

export async function unsealBytes(key: CryptoKey, place: string, row: Sealed): Promise<Bytes> {
  return new Uint8Array(
    await crypto.subtle.decrypt({ name: "AES-GCM", iv: row.iv, additionalData: utf8(place) }, key, row.sealed));
}

/** Where an event belongs. */
export function eventPlace(tablet_seq: number, event_id: string): string {
  return `${tablet_seq}|${event_id}`;
}
