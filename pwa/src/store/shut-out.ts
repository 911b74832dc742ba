/** A tablet that was revoked: nothing of patients can be opened here any more, and what waits still goes out. */

import { copyIsOpen, copyPersonGone } from "../copy/copy";
import { house } from "./house";
import { closeView } from "./view";

/**
 * Drop the records that the server sent, and every PIN with the keys under it. What was recorded
 * here stays as it is, sealed, until the server has taken it aside.
 */
export async function shutOut(): Promise<void> {
  closeView();
  const transaction = (await house()).transaction(["people", "records", "cursor"], "readwrite", { durability: "strict" });
  const known = await transaction.objectStore("people").getAllKeys();
  await Promise.all([
    transaction.objectStore("people").clear(), transaction.objectStore("records").clear(),
    transaction.objectStore("cursor").delete("records"), transaction.done,
  ]);
  if (copyIsOpen()) for (const person_id of known) await copyPersonGone(person_id).catch(() => undefined);
}
