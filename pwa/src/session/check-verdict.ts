/** What a check of a laser by a list comes to. Pure; mirror of `api/safety/check_verdict.py`. */

import type { DeviceChecked } from "../events/catalogue";
import type { ListVersion } from "./types";

/** The lists about a laser, in the order of a laser's life and then of its days. */
export const DEVICE_KINDS = ["commissioning", "after_move", "start_of_day", "end_of_day", "weekly", "monthly", "yearly"] as const;
export type DeviceKind = (typeof DEVICE_KINDS)[number];
export const isDeviceKind = (kind: string | null): kind is DeviceKind => DEVICE_KINDS.some((one) => one === kind);

export type CheckVerdict = "passed" | "failed";
export interface Judged { verdict: CheckVerdict; failed: string[]; flags: string[] }

/** This project's own choice: a check of the morning may be written down the same evening. */
export const LATE_AFTER_MS = 12 * 3_600_000;

type Said = Pick<DeviceChecked, "kind" | "verdict"> & { answers: readonly Pick<DeviceChecked["answers"][number], "item_id" | "answer" | "note">[] };
type Asked = Pick<ListVersion, "kind"> & { items: readonly { item_id: string; not_applicable?: string | null | undefined }[] };

/**
 * It passes only if every item of the version that was asked lets it pass. Whoever called it failed
 * saw more than the answers say: that stands.
 */
export function judge(said: Said, version: Asked | null): Judged {
  const answers = new Map(said.answers.map((one) => [one.item_id, one]));
  const asked = version?.items ?? [];
  const known = new Set(asked.map(({ item_id }) => item_id));
  const items = [...asked, ...said.answers.filter(({ item_id }) => !known.has(item_id)).map(({ item_id }) => ({ item_id, not_applicable: null }))];
  const flags = new Set<string>();
  if (version === null) flags.add("list_unknown");
  else if (version.kind !== said.kind) flags.add("list_differs");
  const failed: string[] = [];
  for (const item of items) {
    const flag = against(item.not_applicable ?? "plain", answers.get(item.item_id));
    if (flag !== null) failed.push(item.item_id);
    if (flag) flags.add(flag);
  }
  const fails = failed.length > 0 || flags.has("list_unknown") || flags.has("list_differs");
  if (fails && said.verdict !== "failed") flags.add("verdict_differs");
  return { verdict: fails || said.verdict === "failed" ? "failed" : "passed", failed, flags: [...flags] };
}

/** Null where an item lets the check pass; "" or the flag that says why it does not. */
function against(rule: string, given: Said["answers"][number] | undefined): string | null {
  if (!given) return "items_missing";
  const reasoned = Boolean(given.note?.trim());
  if (given.answer === "no") return reasoned ? "" : "reason_missing";
  if (given.answer === "yes" || rule === "plain") return null;
  if (rule === "never") return "not_applicable_refused";
  return reasoned ? null : "reason_missing";
}

export interface Moments { done_at: string; late: boolean; flags: string[] }

/** When a check counts as done: as claimed, never later than it was written down; and whether that was late. */
export function moments(claimed_at: string | null | undefined, written_at: string): Moments {
  if (claimed_at == null) return { done_at: written_at, late: false, flags: [] };
  const over_ms = Date.parse(written_at) - Date.parse(claimed_at);
  if (over_ms < 0) return { done_at: written_at, late: false, flags: ["claimed_ahead"] };
  return { done_at: claimed_at, late: over_ms > LATE_AFTER_MS, flags: [] };
}
