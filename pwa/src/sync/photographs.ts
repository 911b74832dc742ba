/** Sending pictures after their entries, and getting those that other tablets took. */

import { surroundings, type Bytes } from "../events/surroundings";
import {
  bringBackPhotographs, dropOldPhotographs, isCertificate, nameUnnamed, photographBytes, photographFailed, photographRefused, photographsDue, photographSent,
} from "../outbox/photographs";
import { backoffMs } from "../outbox/policy";
import { chain } from "../store/documents";
import { ask, NoAnswer, readJson, Refused } from "./client";
import { personToken } from "./people";
import { askAsTabletRenewing } from "./token";

const TYPE = "image/jpeg";
/** What a certificate is, the server sees by its bytes. */
const ANY_TYPE = "application/octet-stream";
/** What a slow line takes for 5 MiB. */
const TIMEOUT_MS = 120_000;
/** Of the picture itself: another try would be refused again. */
const FOR_GOOD = new Set([413, 415, 422]);

const listeners = new Set<() => void>();

/** Be told when a picture was sent or refused; returns the function that ends it. */
export function onPhotographs(listener: () => void): () => void {
  listeners.add(listener);
  return () => listeners.delete(listener);
}

/** Send what is due: like their entries, also while the tablet is locked or after it was revoked. */
export async function sendPhotographs(): Promise<void> {
  await takeInLost();
  for (const sha256 of await photographsDue()) {
    const going = await send(sha256);
    for (const listener of listeners) listener();
    if (!going) return;
  }
  await dropOldPhotographs((await chain())?.durable_position ?? null);
}

let taken_in: Promise<void> | null = null;

/** Once in the life of a page: pictures that a lost database took along, and those cut off from their entries. */
export function takeInLost(): Promise<void> {
  taken_in ??= bringBackPhotographs().then(nameUnnamed).catch(() => { taken_in = null; });
  return taken_in;
}

/** As if the page had just been opened (tests). */
export function forgetTakenIn(): void {
  taken_in = null;
}

async function send(sha256: string): Promise<boolean> {
  const content = await photographBytes(sha256).catch(() => null);
  if (content === null) {
    // Of a tablet that this browser was before: its key is gone.
    await photographRefused(sha256, "unreadable_here");
    return true;
  }
  try {
    const [path, type] = (await isCertificate(sha256)) ? ["certificates", ANY_TYPE] : ["attachments", TYPE];
    await readJson(await askAsTabletRenewing(`${path}/${sha256}`, {
      method: "PUT", bytes: { content, type }, timeout_ms: TIMEOUT_MS,
    }));
    await photographSent(sha256);
    return true;
  } catch (problem) {
    if (problem instanceof Refused && FOR_GOOD.has(problem.status)) {
      await photographRefused(sha256, problem.code);
      return true;
    }
    if (!(problem instanceof Refused) && !(problem instanceof NoAnswer)) throw problem;
    await photographFailed(sha256, (failures) => backoffMs(failures, surroundings().fraction()));
    return false;
  }
}

/** A picture from the server, as this tablet's person or at a desk; null where it is not there yet. */
export async function fetchPhotograph(sha256: string, at_desk: boolean): Promise<Bytes | null> {
  const headers: Record<string, string> = { Accept: TYPE };
  const token = personToken();
  if (!at_desk && token !== null) headers["Dosebook-Person"] = token;
  const path = `attachments/${sha256}`;
  const answer = await (at_desk ? ask(path, { headers, timeout_ms: TIMEOUT_MS })
    : askAsTabletRenewing(path, { headers, timeout_ms: TIMEOUT_MS }));
  if (answer.status === 404) return null;
  if (!answer.ok) throw new Refused(answer.status, {});
  return new Uint8Array(await answer.arrayBuffer());
}
