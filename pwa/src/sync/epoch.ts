/**
 * The server was restored from a backup: what it holds ends before what this tablet has seen. What
 * the tablet holds above that point is offered again; what it remembers below it must still be so.
 */

import { reofferPhotographs } from "../outbox/photographs";
import { waitingIds } from "../outbox/read";
import { reoffer } from "../outbox/settle";
import { chain, goOnIn } from "../store/documents";
import { identity, raiseAttention } from "../store/identity";
import { LogChanged } from "./chain";
import { readJson, Refused } from "./client";
import { verifySignature } from "./enrol";
import { askAsTabletRenewing } from "./token";
import { beginAgain } from "./trail";

/** What the server signs of a restore. */
interface Notice { epoch: string; from_epoch: string; location_id: string; position: number; backup_made_at: string }

const IDS_AT_ONCE = 500;
const listeners = new Set<() => void>();

/** Be told when this tablet has gone over to a restored log; returns the function that ends it. */
export function onEpoch(listener: () => void): () => void {
  listeners.add(listener);
  return () => listeners.delete(listener);
}

/**
 * Go over to the epoch that the server's log is in; false where it is this tablet's already.
 *
 * Each step may be done again after a crash: the epoch is written down last. Throws LogChanged where
 * nothing the server can sign explains the change, Refused and NoAnswer as any request.
 */
export async function followEpoch(): Promise<boolean> {
  const who = await identity();
  if (who === null) return false;
  const notice = await asked(who.epoch, who.server_public_key);
  if (notice === null) return false;
  if (notice.location_id !== who.location_id || notice.from_epoch !== who.epoch) return changed();
  await reoffer(notice.position);
  await reofferPhotographs();
  const again = await waitingIds();
  for (let at = 0; at < again.length; at += IDS_AT_ONCE) {
    const event_ids = again.slice(at, at + IDS_AT_ONCE);
    await readJson(await askAsTabletRenewing("sync/returning", { body: { epoch: notice.epoch, event_ids } }));
  }
  const walk = beginAgain(await chain(), notice.epoch, notice.position);
  await goOnIn(notice.epoch, walk, { backup_made_at: notice.backup_made_at, again: again.length });
  for (const listener of listeners) listener();
  return true;
}

async function asked(epoch: string, public_key: string): Promise<Notice | null> {
  try {
    const said = await readJson<{ text: string; signature: string }>(
      await askAsTabletRenewing("sync/restored", { body: { epoch } }));
    if (!(await verifySignature(public_key, said.text, said.signature).catch(() => false))) return await changed();
    return JSON.parse(said.text) as Notice;
  } catch (problem) {
    if (problem instanceof Refused && problem.code === "epoch_current") return null;
    if (problem instanceof Refused && problem.code === "epoch_unknown") return changed();
    throw problem;
  }
}

async function changed(): Promise<never> {
  await raiseAttention("log_changed", "The server's log was begun anew, and nothing in it says why.", false);
  throw new LogChanged(0, "a notice of the restore, signed by the server", "none");
}
