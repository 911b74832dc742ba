/** What a desk asks about entries that were put aside: online only, nothing kept. */
import { askJson } from "./client";

export interface AsideEntry {
  position: number;
  event_id: string;
  corrects: string | null;
  received_at: string;
  reason: string | null;
  tablet_id: string;
  tablet_label: string | null;
  type: string | null;
  subject: string | null;
  entity_id: string | null;
  actor_id: string | null;
  occurred_at: string | null;
  /** What a thing of the house is called. */
  name: string | null;
  /** Null where whoever asks sees no patients, or no chart number is known. */
  patient: { chart_number: string; second_identifier: string | null } | null;
  said: Record<string, unknown> | null;
  /** The hash of the photograph that it names. */
  photograph: string | null;
  /** Why it cannot be released; null where it can. */
  obstacle: string | null;
  may_settle: boolean;
  decided: { status: "released" | "rejected"; at: string; by: string | null; reason: string | null } | null;
}

export interface AsidePage { entries: AsideEntry[]; next_before: number | null; waiting: number }
export type AsideState = "waiting" | "decided";

/** A page, the latest first; `before` goes on below a position. */
export async function asidePage(state: AsideState, tablet_id: string | null, before: number | null): Promise<AsidePage> {
  const query = new URLSearchParams({ state });
  if (tablet_id !== null) query.set("tablet_id", tablet_id);
  if (before !== null) query.set("before", String(before));
  return askJson(`aside?${query.toString()}`);
}

/** Release or reject, all of them or none; asked twice it is decided once. */
export async function settleAside(positions: number[], decision: "release" | "reject", reason: string): Promise<void> {
  await askJson("aside", { body: { positions, decision, reason } });
}
