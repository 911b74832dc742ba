/** Who this tablet is, when it last heard from the server, and what needs a person's attention. */

import { surroundings } from "../events/surroundings";
import { nowText, parseTime } from "../events/times";
import { house, type Attention, type Contact, type Identity, type KeyRing } from "./house";

export type { Attention, Contact, Identity } from "./house";

const NO_CONTACT: Contact = { last_contact: null, clock_offset_ms: null };

/** Days without contact after which earlier patients are no longer shown, unless the practice says otherwise. */
export const OFFLINE_DAYS = { min: 1, max: 30, first: 7 } as const;
const DAY_MS = 86_400_000;

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
  const after: Contact = {
    last_contact: serverTime,
    clock_offset_ms: Math.round(parseTime(serverTime) - tablet_ms),
    seen_ms: surroundings().now(),
    away_ms: 0,
  };
  await (await house()).put("identity", after, "contact");
}

/**
 * Look at the clock, and say for how long the server has not been heard [ms]; null where it never was.
 *
 * Every step forward counts, and no step back takes anything away: neither a clock put back before
 * it is looked at nor one put back again and again buys more days. The server's next answer alone
 * begins anew, so that a clock that once was years ahead is forgiven then.
 */
export async function noteTime(): Promise<number | null> {
  const transaction = (await house()).transaction("identity", "readwrite");
  const known = ((await transaction.store.get("contact")) as Contact | undefined) ?? NO_CONTACT;
  const now_ms = surroundings().now();
  const { seen_ms = known.highest_seen_ms ?? now_ms } = known;
  const { away_ms = known.last_contact === null ? 0 : Math.max(0, seen_ms - parseTime(known.last_contact)) } = known;
  const away = away_ms + Math.max(0, now_ms - seen_ms);
  const { last_contact, clock_offset_ms } = known;
  await Promise.all([
    transaction.store.put({ last_contact, clock_offset_ms, seen_ms: now_ms, away_ms: away }, "contact"), transaction.done,
  ]);
  return last_contact === null ? null : away;
}

/** Whether the last contact is longer ago than the practice allows. */
export async function offlineTooLong(): Promise<boolean> {
  const [away_ms, days] = await Promise.all([noteTime(), offlineDays()]);
  return away_ms === null || away_ms > days * DAY_MS;
}

/** The practice's limit [days], as the server last said. */
export async function offlineDays(): Promise<number> {
  const who = await identity();
  const row = who === null ? undefined : await (await house()).get("documents", ["house", "location", who.location_id]);
  const days = (row?.body as { offline_days?: unknown } | undefined)?.offline_days;
  return typeof days === "number" && days >= OFFLINE_DAYS.min && days <= OFFLINE_DAYS.max ? days : OFFLINE_DAYS.first;
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
