/** Who this tablet is, when it last heard from the server, and what needs a person's attention. */

import { surroundings } from "../events/surroundings";
import { nowText, parseTime } from "../events/times";
import { house, type Attention, type Contact, type Identity, type KeyRing } from "./house";

export type { Attention, Contact, Identity } from "./house";

const NO_CONTACT: Contact = { last_contact: null, highest_seen_ms: 0, clock_offset_ms: null };

/** Days without contact after which earlier patients are no longer shown. */
export const OFFLINE_LIMIT_DAYS = 7;

export async function identity(): Promise<Identity | null> {
  return ((await (await house()).get("identity", "tablet")) as Identity | undefined) ?? null;
}

/** Store identity and keys together: one without the other is of no use. */
export async function putIdentity(who: Identity, ring: KeyRing): Promise<void> {
  const transaction = (await house()).transaction(["identity", "keys"], "readwrite", { durability: "strict" });
  await Promise.all([
    transaction.objectStore("identity").put(who, "tablet"),
    transaction.objectStore("keys").put(ring, "ring"),
    transaction.done,
  ]);
}

export async function contact(): Promise<Contact> {
  return ((await (await house()).get("identity", "contact")) as Contact | undefined) ?? NO_CONTACT;
}

/** Write down that the server answered, with its time [RFC 3339] and the tablet's time then [ms]. */
export async function noteContact(serverTime: string, tablet_ms: number): Promise<void> {
  const server_ms = parseTime(serverTime);
  const database = await house();
  const transaction = database.transaction("identity", "readwrite");
  const before = ((await transaction.store.get("contact")) as Contact | undefined) ?? NO_CONTACT;
  const after: Contact = {
    last_contact: serverTime,
    highest_seen_ms: Math.max(before.highest_seen_ms, server_ms),
    clock_offset_ms: Math.round(server_ms - tablet_ms),
  };
  await Promise.all([transaction.store.put(after, "contact"), transaction.done]);
}

/**
 * Whether the last contact is longer ago than the limit.
 *
 * Counted from the highest time ever seen, so that a clock put back does not buy more days.
 */
export async function offlineTooLong(): Promise<boolean> {
  const database = await house();
  const transaction = database.transaction("identity", "readwrite");
  const known = ((await transaction.store.get("contact")) as Contact | undefined) ?? NO_CONTACT;
  const highest = Math.max(known.highest_seen_ms, surroundings().now());
  if (highest > known.highest_seen_ms) {
    await transaction.store.put({ ...known, highest_seen_ms: highest }, "contact");
  }
  await transaction.done;
  return known.last_contact === null || highest - parseTime(known.last_contact) > OFFLINE_LIMIT_DAYS * 86_400_000;
}

export async function attention(): Promise<Attention | null> {
  return ((await (await house()).get("identity", "attention")) as Attention | undefined) ?? null;
}

/** Raise something for a person to see; a blocking one is never replaced by one that is not. */
export async function raiseAttention(code: string, text: string, blocking: boolean): Promise<void> {
  const transaction = (await house()).transaction("identity", "readwrite", { durability: "strict" });
  const before = (await transaction.store.get("attention")) as Attention | undefined;
  if (!before?.blocking || blocking) {
    await transaction.store.put({ code, text, blocking, at: nowText() }, "attention");
  }
  await transaction.done;
}

/** Take one back, only if it is the one that stands. */
export async function clearAttention(codes: readonly string[]): Promise<void> {
  const transaction = (await house()).transaction("identity", "readwrite");
  const before = (await transaction.store.get("attention")) as Attention | undefined;
  if (before !== undefined && codes.includes(before.code)) await transaction.store.delete("attention");
  await transaction.done;
}
