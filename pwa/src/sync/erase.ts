/** Carrying out on this tablet what the practice has erased, as the house's documents say. */

import { eraseHeld } from "../outbox/erase";
import { documents, dropRecords } from "../store/documents";
import { house, type Erased } from "../store/house";

/** What was asked and decided about erasing a record; of a patient it says nothing. */
export interface Erasure {
  record_id: string;
  status: "asked" | "declined" | "erased";
  erased: { basis: string; citation: string; asked_by: string | null; by: string | null; at: string; position: number } | null;
  event_ids: string[];
  photographs: string[];
}

let turn: Promise<void> = Promise.resolve();

/**
 * Let go of what was erased and is still here. What is done is written down only afterwards, so
 * that after a kill it is done again.
 */
export function heedErasures(): Promise<void> {
  turn = turn.catch(() => undefined).then(work);
  return turn;
}

async function work(): Promise<void> {
  const { done } = ((await (await house()).get("identity", "erased")) as Erased | undefined) ?? { done: {} };
  const all = (await documents<Erasure>("erasure")).filter((one) => one.erased !== null);
  const todo = all.filter((one) => done[one.record_id] !== one.event_ids.length);
  if (todo.length === 0) return;
  await dropRecords(todo.map((one) => ({ record_id: one.record_id, position: one.erased!.position })));
  const reached = await eraseHeld(todo.flatMap((one) => one.event_ids), todo.flatMap((one) => one.photographs));
  if (!reached) return;
  for (const one of todo) done[one.record_id] = one.event_ids.length;
  await (await house()).put("identity", { done }, "erased");
}
