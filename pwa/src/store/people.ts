/** PIN verifiers for unlocking without a network. A PIN is a speed bump, not a wall. */

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
  const tried = await countTry(person_id);
  if (tried === null) return { kind: "unknown" };
  const { counted, was_locked } = tried;
  const locked: PinCheck = { kind: "locked", until_ms: counted.locked_until_ms };
  if (was_locked) return locked;
  if (!same(await stretch(pin, row.salt, row.rounds), row.verifier)) {
    return counted.locked_until_ms > surroundings().now()
      ? locked
      : { kind: "wrong", attempts_left: WRONG_BEFORE_PAUSE - counted.wrong };
  }
  await (await house()).put("people", { ...counted, wrong: 0, locked_until_ms: 0 });
  return { kind: "right", person: row.person };
}

/** Five wrong: one minute, doubling; ten: until the next sign-in with the server. */
export function pauseMs(wrong: number): number {
  if (wrong >= WRONG_BEFORE_END) return Number.MAX_SAFE_INTEGER / 2;
  return wrong < WRONG_BEFORE_PAUSE ? 0 : 60_000 * 2 ** (wrong - WRONG_BEFORE_PAUSE);
}

/** Count one try as wrong, and lock in the same transaction: of many at once, five get through. */
async function countTry(person_id: string): Promise<{ counted: PersonRow; was_locked: boolean } | null> {
  const transaction = (await house()).transaction("people", "readwrite", { durability: "strict" });
  const row = await transaction.store.get(person_id);
  if (row === undefined) return null;
  const now = surroundings().now();
  const was_locked = row.locked_until_ms > now;
  const wrong = row.wrong + (was_locked ? 0 : 1);
  const wait_ms = was_locked ? 0 : pauseMs(wrong);
  const counted = { ...row, wrong, locked_until_ms: wait_ms > 0 ? now + wait_ms : row.locked_until_ms };
  await transaction.store.put(counted);
  await transaction.done;
  return { counted, was_locked };
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
