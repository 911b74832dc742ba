/** Checks of lasers by their lists: those of the register, and those this tablet has not had back. Pure. */

import type { DeviceChecked } from "../events/catalogue";
import type { StoredEvent } from "../outbox/read";
import { judge, moments, type CheckVerdict, type DeviceKind } from "./check-verdict";
import { localDay, versionsOf } from "./lists";
import type { Made } from "./service-proofs";
import type { ListDocument, ListVersion } from "./types";

/** A check as its document has it. */
export interface DeviceCheck extends DeviceChecked, Made {
  device_check_id: string;
  event_id: string;
  verdict: CheckVerdict;
  stated_verdict: CheckVerdict;
  /** The items that fail it, by id. */
  failed: string[];
  flags: string[];
  written_at: string;
  /** When the server had it; null while it is on this tablet alone. */
  received_at: string | null;
  late: boolean;
  checked_by: string | null;
}

export const CHECKED = "device.checked";
/** What the server put aside or refused counts no more here than there. */
const COUNTS: ReadonlySet<string> = new Set(["applied", "duplicate"]);

/** The text of the list that was answered, or null where it is not known here. */
export function versionAsked(lists: readonly ListDocument[], said: Pick<DeviceChecked, "list_id" | "list_version" | "list_event_id">): ListVersion | null {
  const list = lists.find((one) => one.list_id === said.list_id);
  if (!list) return null;
  const known = [...versionsOf(list), ...(list.drafts ?? []), ...(list.set_aside ?? [])];
  return known.find((one) => (said.list_event_id ? one.event_id === said.list_event_id : one.version === said.list_version)) ?? null;
}

/** The register's checks with this tablet's own, judged as the server will. */
export function withOwn(
  known: readonly DeviceCheck[], own: readonly Pick<StoredEvent, "body" | "payload" | "result">[], lists: readonly ListDocument[],
): DeviceCheck[] {
  const there = new Set(known.map(({ event_id }) => event_id));
  const fresh = own.filter(({ body, result }) => {
    const outcome = (result as { outcome?: string } | null)?.outcome;
    return body.type === CHECKED && !there.has(body.event_id) && (outcome === undefined || COUNTS.has(outcome));
  });
  return [...known, ...fresh.map(({ body, payload }): DeviceCheck => {
    const said = payload as unknown as DeviceChecked;
    const judged = judge(said, versionAsked(lists, said));
    const when = moments(said.done_at, body.occurred_at);
    return {
      ...said, device_check_id: body.entity_id, event_id: body.event_id, stated_verdict: said.verdict, verdict: judged.verdict,
      failed: judged.failed, flags: [...judged.flags, ...when.flags], done_at: when.done_at, written_at: body.occurred_at,
      tablet_id: body.tablet_id, tablet_seq: body.tablet_seq, clock_offset_ms: body.clock_offset_ms, received_at: null, late: when.late, checked_by: body.actor_id,
    };
  })];
}

/** Checks of one laser, of one kind or all, the newest first; of two at one moment the one written down later. */
export function checksOfDevice(checks: readonly DeviceCheck[], device_id: string, kind: string | null = null): DeviceCheck[] {
  return checks.filter((one) => one.device_id === device_id && (kind === null || one.kind === kind))
    .sort((a, b) => Date.parse(b.done_at) - Date.parse(a.done_at) || Date.parse(b.written_at) - Date.parse(a.written_at));
}

/** The last check of a kind on the day that the location's calendar shows at a moment [ms]; null: not made. */
export function todaysCheck(checks: readonly DeviceCheck[], device_id: string, kind: DeviceKind, now_ms: number, zone: string | null): DeviceCheck | null {
  const today = localDay(now_ms, zone);
  return checksOfDevice(checks, device_id, kind).find((one) => localDay(Date.parse(one.done_at), zone) === today) ?? null;
}

/** The last check of a kind if it failed: nothing passed since. */
export function failing(checks: readonly DeviceCheck[], device_id: string): DeviceCheck[] {
  const newest = new Map<string, DeviceCheck>();
  for (const one of checksOfDevice(checks, device_id)) if (!newest.has(one.kind)) newest.set(one.kind, one);
  return [...newest.values()].filter(({ verdict }) => verdict === "failed");
}
