/** Power checks: those of the register, and those this tablet has made and not yet had back. */
import { computed } from "@preact/signals";
import type { VerificationRecorded } from "../events/catalogue";
import type { StoredEvent } from "../outbox/read";
import { house } from "./house";
import type { Verification } from "./types";
import { eventsOf, writtenAbout } from "./written";

const RECORDED = "verification.recorded";
/** What the server put aside or refused counts no more here than there. */
const COUNTS: ReadonlySet<string> = new Set(["applied", "duplicate"]);

/** The register's checks with this tablet's own. Pure. */
export function withOwn(known: readonly Verification[], own: readonly Pick<StoredEvent, "body" | "payload" | "result">[]): Verification[] {
  const there = new Set(known.map(({ event_id }) => event_id));
  const fresh = own.filter(({ body, result }) => {
    const outcome = (result as { outcome?: string } | null)?.outcome;
    return body.type === RECORDED && !there.has(body.event_id) && (outcome === undefined || COUNTS.has(outcome));
  });
  return [...known, ...fresh.map(({ body, payload }) => {
    const said = payload as unknown as VerificationRecorded;
    return {
      verification_id: body.entity_id, event_id: body.event_id, device_id: said.device_id, handpiece_id: said.handpiece_id,
      mode: said.mode, ratio: said.ratio, ratio_uncertainty: said.ratio_uncertainty, verdict: said.verdict,
      verified_at: body.occurred_at, verified_by: body.actor_id, said, made: body,
    };
  })];
}

export const checks = computed<readonly Verification[]>(() =>
  withOwn(house.value.verifications, writtenAbout([RECORDED]).flatMap(eventsOf)));

/** The newest power check for this laser, this tip and this mode, whatever its verdict; of those made by a moment [ms]. */
export function latestCheck(device_id: string, handpiece_id: string, mode: string, by_ms = Infinity): Verification | null {
  return newest(checks.value.filter(
    (v) => v.device_id === device_id && v.handpiece_id === handpiece_id && v.mode === mode && !(Date.parse(v.verified_at) > by_ms)));
}

/** All power checks of one laser by mode and tip, the newest of each group first. */
export function checkGroups(device_id: string): Verification[][] {
  const groups = new Map<string, Verification[]>();
  for (const v of checks.value) {
    if (v.device_id !== device_id) continue;
    const key = `${v.mode}|${v.handpiece_id}`;
    groups.set(key, [...(groups.get(key) ?? []), v]);
  }
  return [...groups.values()].map((group) => group.sort((a, b) => Date.parse(b.verified_at) - Date.parse(a.verified_at)));
}

/** The newest power check of each mode and tip of one laser. */
export const checksOf = (device_id: string): Verification[] => checkGroups(device_id).map(([first]) => first!);

function newest(list: readonly Verification[]): Verification | null {
  return list.reduce<Verification | null>(
    (best, v) => (best && Date.parse(best.verified_at) >= Date.parse(v.verified_at) ? best : v), null);
}

/** A failed check never feeds the delivered dose. */
export const usable = (check: Verification | null): check is Verification =>
  check != null && (check.verdict === "ok" || check.verdict === "warn");
