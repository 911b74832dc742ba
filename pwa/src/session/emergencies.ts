/** Access in an emergency: who opened patients' records beyond their role, and who has seen it. */
import { signal } from "@preact/signals";
import { newId } from "../events/ids";
import { askJson } from "../sync/client";
import { deskCommand, deskRegister } from "../sync/desk";

export interface Emergency {
  emergency_id: string;
  person_id: string;
  /** Of somebody who has no role at this location. */
  display_name?: string | null;
  works_at?: string | null;
  rights: string[];
  reason: string;
  opened_at: string;
  until: string;
  acknowledged: { by: string; at: string }[];
}

/** Those that nobody has seen yet, the latest first. */
export const unseen = signal<Emergency[]>([]);

export async function loadUnseen(): Promise<void> {
  const all = (await deskRegister("emergency")) as Emergency[];
  unseen.value = all.filter((one) => one.acknowledged.length === 0).sort((a, b) => b.opened_at.localeCompare(a.opened_at));
}

export async function markSeen(emergency_id: string): Promise<void> {
  await deskCommand({ type: "emergency.acknowledged", entity_id: emergency_id, payload: {} }, newId());
  await loadUnseen();
}

/** Open records for an hour; asked twice it opens once. */
export async function openEmergency(reason: string, write: boolean, key: string): Promise<void> {
  await askJson("emergencies", { body: { reason, write }, headers: { "Idempotency-Key": key } });
}
