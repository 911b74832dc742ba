/** PIN verifiers for unlocking without a network. A PIN is a speed bump, not a wall: see people.md's limits. */

import { utf8 } from "../events/bytes";
import { surroundings, type Bytes } from "../events/surroundings";
import { house, type PersonRow } from "./house";

export const PIN_ROUNDS = 310_000;
const WRONG_BEFORE_PAUSE = 5;
const WRONG_BEFORE_END = 10;

export type PinCheck =
  | { kind: "right"; person: object }
  | { kind: "wrong"; attempts_left: number }
  | { kind: "locked"; until_ms: number }
  | { kind: "unknown" };

/** Keep what is needed to recognise this PIN later; called after the server has accepted it. */
export async function rememberPin(person_id: string, pin: string, person: object): Promise<void> {
  const salt = surroundings().random(16);
  const verifier = await stretch(pin, salt, PIN_ROUNDS);
  const row: PersonRow = { person_id, person, salt, rounds: PIN_ROUNDS, verifier, wrong: 0, locked_until_ms: 0 };
  await (await house()).put("people", row);
}

/** Forget a person's PIN, for instance when the server no longer accepts the person here. */
export async function forgetPin(person_id: string): Promise<void> {
  await (await house()).delete("people", person_id);
}

/** Check a PIN against what is kept; wrong tries are counted before the answer is given. */
export async function checkPin(person_id: string, pin: string): Promise<PinCheck> {
  const row = await (await house()).get("people", person_id);
  if (row === undefined) return { kind: "unknown" };
  // Counted first: a crash between trying and counting must not give a free try.
  const counted = await countTry(person_id);
  if (counted === null) return { kind: "unknown" };
  if (counted.locked_until_ms > surroundings().now()) return { kind: "locked", until_ms: counted.locked_until_ms };
  if (!same(await stretch(pin, row.salt, row.rounds), row.verifier)) {
    const now = surroundings().now();
    const wait_ms = pauseMs(counted.wrong);
    if (wait_ms > 0) {
      const until_ms = now + wait_ms;
      await (await house()).put("people", { ...counted, locked_until_ms: until_ms });
      return { kind: "locked", until_ms };
    }
    return { kind: "wrong", attempts_left: WRONG_BEFORE_PAUSE - counted.wrong };
  }
  await (await house()).put("people", { ...counted, wrong: 0, locked_until_ms: 0 });
  return { kind: "right", person: row.person };
}

/** Five wrong: one minute, doubling; ten: until the next sign-in with the server. */
export function pauseMs(wrong: number): number {
  if (wrong >= WRONG_BEFORE_END) return Number.MAX_SAFE_INTEGER / 2;
  return wrong < WRONG_BEFORE_PAUSE ? 0 : 60_000 * 2 ** (wrong - WRONG_BEFORE_PAUSE);
}

async function countTry(person_id: string): Promise<PersonRow | null> {
  const transaction = (await house()).transaction("people", "readwrite", { durability: "strict" });
  const row = await transaction.store.get(person_id);
  const locked = row !== undefined && row.locked_until_ms > surroundings().now();
  const counted = row === undefined ? null : { ...row, wrong: row.wrong + (locked ? 0 : 1) };
  if (counted !== null) await transaction.store.put(counted);
  await transaction.done;
  return counted;
}

async function stretch(pin: string, salt: Bytes, rounds: number): Promise<Bytes> {
  const material = await crypto.subtle.importKey("raw", utf8(pin), "PBKDF2", false, ["deriveBits"]);
  return new Uint8Array(await crypto.subtle.deriveBits(
    { name: "PBKDF2", hash: "SHA-256", salt, iterations: rounds }, material, 256));
}

function same(one: Bytes, other: Bytes): boolean {
  let difference = one.length ^ other.length;
  for (const [index, byte] of one.entries()) difference |= byte ^ (other[index] ?? 0);
  return difference === 0;
}
