/** What a desk asks about erasing records: online only, nothing kept. */
import { newId } from "../events/ids";
import { askJson } from "./client";
import { deskCommand } from "./desk";

export type Basis = "retention_ended" | "request" | "order";
export interface Rule { text: string; years: number; citation: string }
export interface Told {
  record_id: string;
  status: "asked" | "declined" | "erased";
  asked: { by: string; at: string; basis: Basis; citation: string; reason: string | null; override: string | null } | null;
  declined: { by: string; at: string; reason: string | null } | null;
  erased: { by: string | null; asked_by: string | null; at: string; basis: Basis; citation: string; position: number } | null;
  entries: number;
  photographs: number;
  /** Nothing of it is among the bytes of the server's files any more. */
  rewritten: boolean;
}
/** What there is to lose of a record, and what stands for and against it. */
export interface Look {
  record_id: string; status: string | null; entries: number; aside: number; photographs: number; papers: number; position: number;
  last_day: string; keep_until: string | null; rule: Rule | null; over: boolean; held: boolean; erasure: Told | null;
  /** From when on whoever looks counts as one of the two; null where that is so already. */
  counts_from: string | null;
}
export interface Erasures { erasures: Told[]; rules: Rule[]; held: string[] }
export interface Asking { basis: Basis; citation: string; reason: string; override: string | null }

const place = (record_id: string): string => `records/${encodeURIComponent(record_id)}/erasure`;

export const askErasures = (): Promise<Erasures> => askJson("erasures");
export const lookAt = (record_id: string): Promise<Look> => askJson(place(record_id));

export async function askToErase(record_id: string, asking: Asking): Promise<void> {
  await askJson(place(record_id), { body: asking });
}
export async function eraseNow(record_id: string): Promise<void> {
  await askJson(`${place(record_id)}/decision`, { body: { decision: "erase" } });
}
export async function declineErasure(record_id: string, reason: string): Promise<void> {
  await askJson(`${place(record_id)}/decision`, { body: { decision: "decline", reason } });
}
export async function keepRules(location_id: string, rules: Rule[]): Promise<void> {
  await deskCommand({ type: "retention.ruled", entity_id: location_id, payload: { rules } }, newId());
}
export async function holdRecord(record_id: string, held: boolean, reason: string): Promise<void> {
  await deskCommand({ type: held ? "retention.held" : "retention.hold_ended", entity_id: record_id, payload: { reason } }, newId());
}
