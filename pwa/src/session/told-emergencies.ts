/** What a tablet tells of accesses in an emergency: it hears of them by its pull. */
import { computed, signal } from "@preact/signals";
import { documents, onDocuments } from "../store/documents";
import type { Emergency } from "./emergencies";
import { eventsOf } from "./written";

const known = signal<Emergency[]>([]);

/** Those that nobody has seen yet, the latest first; seen here counts before the server has heard of it. */
export const told = computed(() => known.value
  .filter((one) => one.acknowledged.length === 0 && !eventsOf(one.emergency_id).some(({ body }) => body.type === "emergency.acknowledged"))
  .sort((a, b) => b.opened_at.localeCompare(a.opened_at)));

async function load(): Promise<void> {
  known.value = await documents<Emergency>("emergency");
}

/** Hear of them, those known already and those to come, until the returned function is called. */
export function hearOfEmergencies(): () => void {
  void load();
  return onDocuments((changed) => { if (changed.some(({ kind }) => kind === "emergency")) void load(); });
}

/** One person has seen it: into the outbox, so that it can be said without a network too. */
export async function markSeenHere(emergency_id: string): Promise<void> {
  // Commands are large, and this stands beside the first screen.
  const { write } = await import("./commands");
  await write([{ type: "emergency.acknowledged", entity_id: emergency_id, payload: {} }]);
}
