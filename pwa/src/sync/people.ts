/** Signing a person in on this tablet: by the server where it can be reached, else by what is kept here. */

import { fromBase64url } from "../events/bytes";
import { rfc3339 } from "../events/times";
import { bringBackKeys, waitsForPin } from "../outbox/restore";
import { offlineTooLong } from "../store/identity";
import { readKeys } from "../store/keys";
import { checkPin, forgetPin, rememberPin, type PinCheck } from "../store/people";
import { keepWhatOpens, moveOldRows, openView } from "../store/view";
import { NoAnswer, readJson, Refused } from "./client";
import { askAsTabletRenewing } from "./token";

export interface SignedIn {
  person: object;
  mode: "online" | "offline";
  /** Too long without the server: what happens can be recorded, earlier patients are not shown. */
  capture_only: boolean;
}

export type PinCode = "pin_wrong" | "pin_locked" | "pin_unknown_offline" | "not_allowed";

export class PinError extends Error {
  override readonly name = "PinError";
  readonly code: PinCode;
  /** With `pin_wrong`. */
  readonly attempts_left: number | null;
  /** When to try again; null with `pin_locked` where only a password at a desk, or the server, helps. */
  readonly until: string | null;

  constructor(code: PinCode, message: string, attempts_left: number | null, until: string | null) {
    super(message);
    this.code = code;
    this.attempts_left = attempts_left;
    this.until = until;
  }
}

let token: { person_id: string; text: string } | null = null;
const listeners = new Set<() => void>();

/** The person's token for records, in memory only; null offline or signed out. */
export function personToken(): string | null {
  return token?.text ?? null;
}

/** Be told when somebody has signed in or out; returns the function that ends it. */
export function onPerson(listener: () => void): () => void {
  listeners.add(listener);
  return () => listeners.delete(listener);
}

const endings = new Set<() => void>();

/** Be told when the server no longer takes the session of whoever is signed in; returns the function that ends it. */
export function onSessionEnded(listener: () => void): () => void {
  endings.add(listener);
  return () => endings.delete(listener);
}

/** The server has ended this person's session: from elsewhere, or because its time was over. */
export function sessionEnded(): void {
  signOutPerson();
  for (const listener of endings) listener();
}

/** Forget the person's token; the outbox is not touched and goes on draining. */
export function signOutPerson(): void {
  token = null;
  for (const listener of listeners) listener();
}

/** Sign in with a PIN; throws PinError. */
export async function signInWithPin(person_id: string, pin: string): Promise<SignedIn> {
  if (await waitsForPin()) await openCopyWith(person_id, pin);
  let given: { person_token: string; person: object; keep_key?: string; view_key?: string | null; secrets_changed_at?: string };
  try {
    given = await readJson(await askAsTabletRenewing("session/pin", { body: { person_id, pin } }));
  } catch (problem) {
    if (problem instanceof NoAnswer || (problem instanceof Refused && problem.status >= 500)) {
      return signInOffline(person_id, pin);
    }
    throw problem instanceof Refused ? await asPinError(problem, person_id) : problem;
  }
  const { keep_key = null, view_key = null, secrets_changed_at = null } = given;
  await rememberPin(person_id, pin, given.person, { keep_key, view_key, secrets_changed_at });
  await openView(view_key === null ? null : fromBase64url(view_key));
  // Before there is a token, so that nothing is pulled in between.
  await keepWhatOpens();
  token = { person_id, text: given.person_token };
  seeToOldRows();
  for (const listener of listeners) listener();
  return { person: given.person, mode: "online", capture_only: false };
}

/** Bring this tablet's keys back with the PIN it last knew of this person. */
async function openCopyWith(person_id: string, pin: string): Promise<void> {
  await checkedHere(person_id, pin);
  if (!(await bringBackKeys(person_id, pin))) throw unknownHere();
}

async function signInOffline(person_id: string, pin: string): Promise<SignedIn> {
  token = null;
  const { person, view } = await checkedHere(person_id, pin);
  await openView(view ?? null);
  seeToOldRows();
  // A PIN kept by an older version opens no view: only that version's own rows can be read with it.
  const nothing_opens = view === undefined && (await readKeys())?.records === undefined;
  return { person, mode: "offline", capture_only: nothing_opens || (await offlineTooLong()) };
}

/** Nobody waits for it: until then they are read as they are. */
function seeToOldRows(): void {
  moveOldRows().catch(() => undefined);
}

async function checkedHere(person_id: string, pin: string): Promise<Extract<PinCheck, { kind: "right" }>> {
  const check = await checkPin(person_id, pin);
  if (check.kind === "unknown") throw unknownHere();
  if (check.kind === "locked") {
    const for_good = check.until_ms > 4_000_000_000_000;
    throw new PinError("pin_locked", "Too many wrong PINs.", null, for_good ? null : rfc3339(check.until_ms, 0));
  }
  if (check.kind === "wrong") throw new PinError("pin_wrong", "Wrong PIN.", check.attempts_left, null);
  return check;
}

function unknownHere(): PinError {
  return new PinError("pin_unknown_offline", "This person has not signed in on this tablet before.", null, null);
}

async function asPinError(refused: Refused, person_id: string): Promise<Error> {
  const { attempts_left, until } = refused.facts;
  if (refused.code === "pin_wrong") {
    return new PinError("pin_wrong", refused.message,
      typeof attempts_left === "number" ? attempts_left : null, typeof until === "string" ? until : null);
  }
  if (refused.code === "pin_locked") {
    return new PinError("pin_locked", refused.message, null, typeof until === "string" ? until : null);
  }
  if (refused.code === "pin_disabled") {
    await forgetPin(person_id);
    return new PinError("pin_locked", refused.message, null, null);
  }
  if (refused.status === 403 || refused.status === 404) {
    // The server no longer lets this person in here: neither does the tablet on its own.
    await forgetPin(person_id);
    return new PinError("not_allowed", refused.message, null, null);
  }
  return refused;
}
