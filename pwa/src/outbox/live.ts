/** Small things that must survive a reload before they are events: an unsent form, the open record's id. */

import { readKeys } from "../store/keys";
import { outbox, strictly } from "./database";
import { asOutboxError, OutboxError } from "./errors";
import { seal, unseal } from "../store/seal";
import { keepLive } from "./second";

/** What was put under `key`, or null. */
export async function getLive<T = unknown>(key: string): Promise<T | null> {
  const ring = await readKeys();
  if (ring === null) return null;
  try {
    const row = await (await outbox()).get("live", key);
    return row === undefined ? null : ((await unseal(ring.seal, `live|${key}`, row)) as T);
  } catch (problem) {
    throw asOutboxError(problem);
  }
}

/** Keep a value, sealed; null takes it away. Resolves when it is on the disk. */
export async function putLive(key: string, value: unknown): Promise<void> {
  const ring = await readKeys();
  if (ring === null) throw new OutboxError("not_enrolled", "This tablet is not enrolled.");
  try {
    const row = value === null || value === undefined ? null : await seal(ring.seal, `live|${key}`, value);
    const transaction = await strictly(["live"]);
    const live = transaction.objectStore("live");
    await Promise.all([row === null ? live.delete(key) : live.put(row, key), transaction.done]);
    keepLive();
  } catch (problem) {
    throw asOutboxError(problem);
  }
}
