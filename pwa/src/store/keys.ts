/** The tablet's keys: made here, never extractable, kept as CryptoKey objects. */

import { house, type KeyRing } from "./house";

const SIGNING = { name: "ECDSA", namedCurve: "P-256" } as const;

/** Make a new key ring; it is stored together with the identity it belongs to. */
export async function makeKeys(): Promise<KeyRing> {
  const sealing = (): Promise<CryptoKey> =>
    crypto.subtle.generateKey({ name: "AES-GCM", length: 256 }, false, ["encrypt", "decrypt"]);
  return {
    sign: await crypto.subtle.generateKey(SIGNING, false, ["sign", "verify"]),
    seal: await sealing(),
    records: await sealing(),
  };
}

export async function readKeys(): Promise<KeyRing | null> {
  return (await (await house()).get("keys", "ring")) ?? null;
}

/** Raw r|s ECDSA P-256 SHA-256 signature, 64 bytes. */
export async function sign(ring: KeyRing, bytes: Uint8Array<ArrayBuffer>): Promise<Uint8Array<ArrayBuffer>> {
  return new Uint8Array(await crypto.subtle.sign({ name: "ECDSA", hash: "SHA-256" }, ring.sign.privateKey, bytes));
}
