/**
 * A tablet whose storage was lost, brought back from its second copy: who it is and what the house
 * knows at once, the keys with the first PIN, the entries with the next start of the outbox.
 */

import { copyPlace } from "../copy/files";
import { readCopy, readWhole } from "../copy/copy";
import { house, type Contact, type DocumentRow, type Identity, type PersonRow } from "../store/house";
import { identity } from "../store/identity";
import { readKeys, reopenRing } from "../store/keys";
import { keepKeyBy } from "../store/people";
import type { Sealed } from "../store/seal";

/** Bring back who this tablet is, where it has lost that; null where there is nothing to bring. */
export async function bringBackHouse(): Promise<Identity | null> {
  let found: { who: Identity; people: PersonRow[] } | null = null;
  for (const tablet_id of await copyPlace().list()) {
    const copy = await readCopy(tablet_id);
    const people = [...(copy?.people.values() ?? [])] as PersonRow[];
    // Without a PIN that opens it there is no way in, and there are no entries either.
    if (copy === null || !people.some((one) => one.keep !== null)) continue;
    const who = copy.tablet.identity as Identity;
    // A browser that was enrolled again is the tablet that it became last.
    if (found === null || who.enrolled_at > found.who.enrolled_at) found = { who, people };
  }
  if (found === null) return null;
  const kept = (await readWhole(found.who.tablet_id, "house")) as (DocumentRow | { contact: Contact })[];
  const transaction = (await house()).transaction(["identity", "people", "documents"], "readwrite", { durability: "strict" });
  const work: Promise<unknown>[] = [transaction.objectStore("identity").put(found.who, "tablet")];
  for (const row of found.people) work.push(transaction.objectStore("people").put(row));
  for (const row of kept) {
    work.push("contact" in row
      ? transaction.objectStore("identity").put(row.contact, "contact")
      : transaction.objectStore("documents").put(row));
  }
  await Promise.all([...work, transaction.done]);
  return found.who;
}

/** Whether this tablet knows who it is and has no keys: it waits for a PIN to open its copy. */
export async function waitsForPin(): Promise<boolean> {
  return (await identity()) !== null && (await readKeys()) === null;
}

/** Put the keys back with a PIN that was found right; false where this person's PIN opens nothing. */
export async function bringBackKeys(person_id: string, pin: string): Promise<boolean> {
  const who = await identity();
  const copy = who === null ? null : await readCopy(who.tablet_id);
  const keep = await keepKeyBy(person_id, pin);
  if (who === null || copy === null || keep === null) return false;
  const ring = await reopenRing(copy.tablet.sign as Sealed, keep, who.tablet_id);
  const transaction = (await house()).transaction("keys", "readwrite", { durability: "strict" });
  await Promise.all([transaction.store.put(ring, "ring"), transaction.done]);
  return true;
}
