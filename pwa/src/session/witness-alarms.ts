/** Alarms of tablets whose log is not the server's, for whoever looks after tablets. */
import { signal } from "@preact/signals";
import { newId } from "../events/ids";
import { deskCommand, deskRegister } from "../sync/desk";

export interface WitnessAlarm {
  alarm_id: string;
  tablet_id: string;
  position: number;
  expected: string;
  found: string;
  at: string;
  answered: { by: string; at: string; found_out: string } | null;
}

/** Those that nobody has answered, the latest first. */
export const openAlarms = signal<WitnessAlarm[]>([]);

/** How people call the tablets that raised them. */
export const alarmedTablets = signal<ReadonlyMap<string, string>>(new Map());

export async function loadAlarms(): Promise<void> {
  const all = (await deskRegister("witness_alarm")) as WitnessAlarm[];
  if (all.some((one) => one.answered === null)) {
    const tablets = (await deskRegister("tablet")) as { tablet_id: string; label: string }[];
    alarmedTablets.value = new Map(tablets.map(({ tablet_id, label }) => [tablet_id, label]));
  }
  openAlarms.value = all.filter((one) => one.answered === null).sort((a, b) => b.at.localeCompare(a.at));
}

export async function answerAlarm(alarm_id: string, found_out: string, key: string = newId()): Promise<void> {
  await deskCommand({ type: "witness.answered", entity_id: alarm_id, payload: { found_out } }, key);
  await loadAlarms();
}
