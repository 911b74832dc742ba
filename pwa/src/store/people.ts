/** PIN verifiers for unlocking without a network. A PIN is a speed bump, not a wall. */

import { copyIsOpen, copyPerson, copyPersonGone } from "../copy/copy";
import { fromBase64url, hex, sha256, utf8 } from "../events/bytes";
import { surroundings, type Bytes } from "../events/surroundings";
import { house, type PersonRow } from "./house";
import { seal, unseal, type Sealed } from "./seal";
import { roundsHere, stretch } from "./stretch";

const WRONG_BEFORE_PAUSE = 5;
const WRONG_BEFORE_END = 10;

export type PinCheck =
  /** `view` is undefined where an older version kept the PIN, null for whoever may read no records. */
  | { kind: "right"; person: object; view: Bytes | null | undefined }
  | { kind: "wrong"; attempts_left: number }
  | { kind: "locked"; until_ms: number }
  | { kind: "unknown" };

/** What the server gives with a right PIN: keys [32 bytes, base64url], and since when the secrets stand. */
export interface Given { keep_key: string | null; view_key: string | null; secrets_changed_at: string | null }

/**
 * Keep what is needed to recognise this PIN later, and the tablet's keys under it; called after
 * the server has accepted the PIN. Where it is the same PIN and the same keys as before, nothing is wrapped again.
 */
export async function rememberPin(
  person_id: string, pin: string, person: object, given: Given,
): Promise<void> {
  const before = await (await house()).get("people", person_id);
  const same_as = given.secrets_changed_at === null ? null : hex(await sha256(utf8(JSON.stringify(given))));
  if (before !== undefined && same_as !== null && before.given === same_as) {
    // Not in the second copy, which is for a lost storage and need not know of the last wrong try.
    await (await house()).put("people", { ...before, person, wrong: 0, locked_until_ms: 0 });
    return;
  }
  const salt = surroundings().random(16);
  const rounds = await roundsHere();
  const { verifier, wrap } = await stretch(pin, salt, rounds);
  const { keep_key, view_key } = given;
  const row: PersonRow = {
    person_id, person, salt, rounds, verifier, wrong: 0, locked_until_ms: 0, given: same_as,
    keep: keep_key === null ? null : await seal(wrap, keepPlace(person_id), keep_key),
    view: view_key === null ? null : await seal(wrap, viewPlace(person_id), view_key),
  };
  await (await house()).put("people", row);
  // Only a help for a lost storage: nobody is kept from signing in where it cannot be written.
  if (copyIsOpen()) await copyPerson(person_id, row).catch(() => undefined);
}

/** Write everybody into the second copy, where it was begun anew. */
export async function copyPeople(): Promise<void> {
  if (!copyIsOpen()) return;
  for (const row of await (await house()).getAll("people")) await copyPerson(row.person_id, row).catch(() => undefined);
}

/**
 * Heed what the server says of a person now: in other roles than those in which the PIN was kept, it
 * opens no records until the server has accepted it again, and signs in without a network as what they are.
 */
export async function heedRoles(person_id: string, said: { roles?: readonly string[]; auditor_until?: string | null }): Promise<void> {
  const transaction = (await house()).transaction("people", "readwrite", { durability: "strict" });
  const row = await transaction.store.get(person_id);
  const before = row?.person as { roles?: readonly string[]; auditor_until?: string | null } | undefined;
  const roles = said.roles ?? [];
  if (row === undefined || before === undefined || sameRoles(before, { roles, auditor_until: said.auditor_until ?? null })) {
    await transaction.done;
    return;
  }
  const person = { ...before, roles: [...roles], auditor_until: said.auditor_until ?? null };
  const changed: PersonRow = { ...row, person, view: null, given: null };
  await transaction.store.put(changed);
  await transaction.done;
  if (copyIsOpen()) await copyPerson(person_id, changed).catch(() => undefined);
}

/** Whether two sayings give somebody the same roles for as long. */
export const sameRoles = (
  one: { roles?: readonly string[]; auditor_until?: string | null }, other: { roles?: readonly string[]; auditor_until?: string | null },
): boolean => [...one.roles ?? []].sort().join() === [...other.roles ?? []].sort().join() && (one.auditor_until ?? null) === (other.auditor_until ?? null);

/** Forget a person's PIN, for instance when the server no longer accepts the person here. */
export async function forgetPin(person_id: string): Promise<void> {
  await (await house()).delete("people", person_id);
  if (copyIsOpen()) await copyPersonGone(person_id).catch(() => undefined);
}

/** The keep key [32 bytes], by a PIN that `checkPin` has found right; null where none was kept. */
export async function keepKeyBy(person_id: string, pin: string): Promise<Bytes | null> {
  const row = await (await house()).get("people", person_id);
  if (!row?.keep) return null;
  const { wrap } = await stretch(pin, row.salt, row.rounds);
  return opened(wrap, keepPlace(person_id), row.keep);
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
  const { verifier, wrap } = await stretch(pin, row.salt, row.rounds);
  if (!same(verifier, row.verifier)) {
    return counted.locked_until_ms > surroundings().now()
      ? locked
      : { kind: "wrong", attempts_left: WRONG_BEFORE_PAUSE - counted.wrong };
  }
  await (await house()).put("people", { ...counted, wrong: 0, locked_until_ms: 0 });
  return { kind: "right", person: row.person, view: row.view && (await opened(wrap, viewPlace(person_id), row.view)) };
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

async function opened(wrap: CryptoKey, place: string, sealed: Sealed): Promise<Bytes> {
  return fromBase64url((await unseal(wrap, place, sealed)) as string);
}

const keepPlace = (person_id: string): string => `keep|${person_id}`;
const viewPlace = (person_id: string): string => `view|${person_id}`;

function same(one: Bytes, other: Bytes): boolean {
  let difference = one.length ^ other.length;
  for (const [index, byte] of one.entries()) difference |= byte ^ (other[index] ?? 0);
  return difference === 0;
}
