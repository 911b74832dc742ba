/** The tablet's keys: kept as CryptoKey objects that cannot be read out. */

import { base64url, fromBase64url } from "../events/bytes";
import type { Bytes } from "../events/surroundings";
import { house, type KeyRing } from "./house";
import { seal, unseal, type Sealed } from "./seal";

const SIGNING = { name: "ECDSA", namedCurve: "P-256" } as const;
const SEALING = { name: "AES-GCM", length: 256 } as const;

/** Make the tablet's signing keys. They can be read out until `makeRing` has put them away. */
export function makePair(): Promise<CryptoKeyPair> {
  return crypto.subtle.generateKey(SIGNING, true, ["sign", "verify"]);
}

/**
 * The tablet's key ring: the signing keys and the keep key [32 bytes] that the server gave it, from
 * now on not readable; with it the signing key under the keep key, for the second copy.
 */
export async function makeRing(
  pair: CryptoKeyPair, keep: Bytes, tablet_id: string,
): Promise<{ ring: KeyRing; sign: Sealed }> {
  const pkcs8 = new Uint8Array(await crypto.subtle.exportKey("pkcs8", pair.privateKey));
  const spki = new Uint8Array(await crypto.subtle.exportKey("spki", pair.publicKey));
  const ring = await ringOf(pkcs8, spki, keep);
  const pieces = { private: base64url(pkcs8), public: base64url(spki) };
  return { ring, sign: await seal(ring.seal, `sign|${tablet_id}`, pieces) };
}

/** The ring again, from the second copy and the keep key; throws where the key does not fit. */
export async function reopenRing(sign_sealed: Sealed, keep: Bytes, tablet_id: string): Promise<KeyRing> {
  const key = await sealingKey(keep);
  const pieces = (await unseal(key, `sign|${tablet_id}`, sign_sealed)) as { private: string; public: string };
  return ringOf(fromBase64url(pieces.private), fromBase64url(pieces.public), keep);
}

async function ringOf(pkcs8: Bytes, spki: Bytes, keep: Bytes): Promise<KeyRing> {
  return {
    sign: {
      privateKey: await crypto.subtle.importKey("pkcs8", pkcs8, SIGNING, false, ["sign"]),
      publicKey: await crypto.subtle.importKey("spki", spki, SIGNING, true, ["verify"]),
    },
    seal: await sealingKey(keep),
  };
}

function sealingKey(keep: Bytes): Promise<CryptoKey> {
  return crypto.subtle.importKey("raw", keep, SEALING, false, ["encrypt", "decrypt"]);
}

export async function readKeys(): Promise<KeyRing | null> {
  return (await (await house()).get("keys", "ring")) ?? null;
}

/** Raw r|s ECDSA P-256 SHA-256 signature, 64 bytes. */
export async function sign(ring: KeyRing, bytes: Uint8Array<ArrayBuffer>): Promise<Uint8Array<ArrayBuffer>> {
  return new Uint8Array(await crypto.subtle.sign({ name: "ECDSA", hash: "SHA-256" }, ring.sign.privateKey, bytes));
}
