/** Making a guess at a PIN slow: PBKDF2 with as many rounds as this tablet does in the time wanted. */

import { utf8 } from "../events/bytes";
import { surroundings, type Bytes } from "../events/surroundings";
import { nowText } from "../events/times";
import { house, type Stretching } from "./house";

/** Never fewer, however slow the tablet. */
export const LEAST_ROUNDS = 210_000;
/** Never more: what is measured on a frozen clock must not lock people out. */
const MOST_ROUNDS = 20_000_000;
/** Aimed at, so that 300 to 500 ms come of it [ms]. */
const WANTED_MS = 380;
const TRIES = 3;

/** The rounds that take the time wanted where `LEAST_ROUNDS` take `took_ms`. Pure. */
export function roundsFor(took_ms: number): number {
  const rounds = Math.round((LEAST_ROUNDS * WANTED_MS) / Math.max(took_ms, 0.1) / 1_000) * 1_000;
  return Math.min(MOST_ROUNDS, Math.max(LEAST_ROUNDS, rounds));
}

/** How many rounds this tablet takes; measured once, at enrolment, and kept. */
export async function roundsHere(): Promise<number> {
  const known = (await (await house()).get("identity", "stretching")) as Stretching | undefined;
  if (known !== undefined) return known.rounds;
  // The fastest of some: a busy moment must not make every later guess cheaper.
  let fastest_ms = Infinity;
  for (let tried = 0; tried < TRIES; tried += 1) {
    const began_ms = surroundings().elapsed();
    await slow("000000", new Uint8Array(16), LEAST_ROUNDS);
    fastest_ms = Math.min(fastest_ms, surroundings().elapsed() - began_ms);
  }
  const rounds = roundsFor(fastest_ms);
  const measured: Stretching = { rounds, took_ms: Math.round(fastest_ms * (rounds / LEAST_ROUNDS)), at: nowText() };
  await (await house()).put("identity", measured, "stretching");
  return rounds;
}

/** From one slow derivation two values that do not give each other away. */
export async function stretch(pin: string, salt: Bytes, rounds: number): Promise<{ verifier: Bytes; wrap: CryptoKey }> {
  const root = await crypto.subtle.importKey("raw", await slow(pin, salt, rounds), "HKDF", false, ["deriveBits", "deriveKey"]);
  const of = (info: string) => ({ name: "HKDF", hash: "SHA-256", salt: new Uint8Array(), info: utf8(info) });
  return {
    verifier: new Uint8Array(await crypto.subtle.deriveBits(of("dosebook-pin-verifier-1"), root, 256)),
    wrap: await crypto.subtle.deriveKey(
      of("dosebook-pin-keep-1"), root, { name: "AES-GCM", length: 256 }, false, ["encrypt", "decrypt"]),
  };
}

async function slow(pin: string, salt: Bytes, iterations: number): Promise<ArrayBuffer> {
  const material = await crypto.subtle.importKey("raw", utf8(pin), "PBKDF2", false, ["deriveBits"]);
  return crypto.subtle.deriveBits({ name: "PBKDF2", hash: "SHA-256", salt, iterations }, material, 256);
}
