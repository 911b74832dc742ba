/** Photographs of a record: taken in, named by an entry, shown; decrypted only while somebody is here. */

import { effect, signal } from "@preact/signals";
import { hex, sha256 } from "../events/bytes";
import { newId } from "../events/ids";
import { nowText } from "../events/times";
import {
  dropPhotograph, keepPhotograph, namePhotograph, photographBytes, photographStates, takeBackPhotograph,
  type PhotographState,
} from "../outbox/photographs";
import { NoAnswer } from "../sync/client";
import { fetchPhotograph, onPhotographs, takeInLost } from "../sync/photographs";
import { syncNow } from "../sync/service";
import { mustBeOpen, Refused, withdraw, write } from "./commands";
import { firstOf, type RecordDocument } from "./fold";
import type { Picture } from "./picture";
import { person, seat } from "./state";
import { eventsOf } from "./written";

/** A little longer than a picture waits for its entry to be taken back. */
const SEND_AFTER_MS = 16_000;

/** What is known on this tablet of each picture, by its hash. */
export const kept = signal<ReadonlyMap<string, PhotographState>>(new Map());

/** Where a picture can be seen: here, on the server, nowhere yet; or why it cannot be told now. */
export type Seen = { url: string } | "not_there" | "no_connection";

const seen = new Map<string, Promise<Seen>>();
let sitting = 0;

export async function refreshPhotographs(): Promise<void> {
  if (seat.value !== "tablet") return;
  await takeInLost();
  kept.value = new Map((await photographStates()).map((row) => [row.sha256, row]));
}
onPhotographs(() => void refreshPhotographs());

effect(() => {
  if (person.value === null) forget();
});

/** Drop what is decrypted: pictures in memory, and the addresses by which the page shows them. */
function forget(): void {
  sitting += 1;
  for (const one of seen.values()) {
    void one.then((found) => { if (typeof found === "object") URL.revokeObjectURL(found.url); }, () => undefined);
  }
  seen.clear();
}

export async function hashOf(picture: Picture): Promise<string> {
  return hex(await sha256(picture.bytes));
}

/** Whether a record names this very picture already. */
export function holds(record: RecordDocument, hash: string): boolean {
  return record.attachments.some((one) => one.sha256 === hash);
}

/** Whether this tablet took a picture. */
export function takenHere(record_id: string, event_id: string): boolean {
  return eventsOf(record_id).some((event) => event.event_id === event_id);
}

/** Whether the server keeps an entry apart until somebody has looked at it. */
export function heldApart(record_id: string, event_id: string): boolean {
  const mine = eventsOf(record_id).find((event) => event.event_id === event_id);
  return (mine?.result as { outcome?: string } | null | undefined)?.outcome === "quarantined";
}

/** Keep a picture of an open case: its bytes first, then the entry that names them. */
export async function addPhotograph(record: RecordDocument, picture: Picture, caption: string | null, taken_at = nowText()): Promise<string> {
  mustBeOpen(record);
  const hash = await hashOf(picture);
  if (holds(record, hash)) {
    throw new Refused("same_picture", "This photograph is in the record already.");
  }
  await keepPhotograph(record.record_id, hash, picture.bytes);
  try {
    const [event_id] = await write([{
      type: "attachment.added",
      entity_id: record.record_id,
      payload: {
        attachment_id: newId(), kind: "photograph", sha256: hash, media_type: "image/jpeg",
        size_bytes: picture.bytes.length, width_px: picture.width_px, height_px: picture.height_px, caption, taken_at,
      },
    }]);
    await nameFrom(record.record_id, hash, event_id!);
    return event_id!;
  } catch (problem) {
    await dropPhotograph(hash).catch(() => undefined);
    throw problem;
  } finally {
    await refreshPhotographs();
    setTimeout(() => void syncNow(), SEND_AFTER_MS);
  }
}

/** Take a photograph back; answers the entry that says so. */
export async function takeBackAttachment(record: RecordDocument, one: RecordDocument["attachments"][number]): Promise<string> {
  mustBeOpen(record);
  await takeBackPhotograph(one.sha256, true);
  const said = await withdraw(record.record_id, firstOf(record.history, one.event_id), "Photograph taken back");
  await refreshPhotographs();
  return said;
}

/** And have it back after all. */
export async function restoreAttachment(record: RecordDocument, sha256: string, withdrawal_id: string): Promise<void> {
  await withdraw(record.record_id, withdrawal_id, "Taken back by mistake");
  await takeBackPhotograph(sha256, false);
  await refreshPhotographs();
}

async function nameFrom(record_id: string, hash: string, event_id: string): Promise<void> {
  const mine = eventsOf(record_id).find((event) => event.event_id === event_id);
  if (mine) await namePhotograph(hash, mine.tablet_seq);
}

/** A picture to be shown: from this tablet, else from the server. */
export function see(sha256: string): Promise<Seen> {
  let asked = seen.get(sha256);
  if (asked === undefined) {
    asked = look(sha256);
    seen.set(sha256, asked);
    // What was not to be had now may be had in a moment.
    void asked.then((found) => { if (typeof found === "string") seen.delete(sha256); }, () => seen.delete(sha256));
  }
  return asked;
}

async function look(sha256_named: string): Promise<Seen> {
  const mine = sitting;
  const at_desk = seat.value === "desk";
  let bytes = at_desk ? null : await photographBytes(sha256_named).catch(() => null);
  if (bytes === null) {
    try {
      bytes = await fetchPhotograph(sha256_named, at_desk);
    } catch (problem) {
      if (problem instanceof NoAnswer) return "no_connection";
      throw problem;
    }
  }
  // Shown under a record, it has to be the picture that the record names.
  if (bytes !== null && hex(await sha256(bytes)) !== sha256_named) throw new TypeError("not the picture that is named");
  // Locked meanwhile: nothing decrypted may stay.
  if (bytes === null || mine !== sitting) return bytes === null ? "not_there" : "no_connection";
  return { url: URL.createObjectURL(new Blob([bytes], { type: "image/jpeg" })) };
}
