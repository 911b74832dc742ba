/** Saying something about the house: into the outbox on a tablet, to the server at a desk. */
import type { EventDraft } from "../events/build";
import { newId } from "../events/ids";
import { deskCommand } from "../sync/desk";
import { write } from "./commands";
import { loadDeskRegisters } from "./house";
import { seat } from "./state";

/** At a desk the same `key` again does it once, and what it changed is read anew. */
export async function say(draft: EventDraft, key: string = newId()): Promise<void> {
  if (seat.value !== "desk") {
    await write([draft]);
    return;
  }
  await deskCommand(draft, key);
  // Done is done: that the registers could not be read again just now is no failure of it.
  await loadDeskRegisters().catch(() => undefined);
}
