/** What one laser needs today, the most pressing first; nothing where all is well. Pure. */
import type { DueRow } from "./due";
import { failing, todaysCheck, type DeviceCheck } from "./device-checks";
import { trendAlarm, type Trend } from "./trend";

export type Need =
  | { kind: "out" }
  | { kind: "trend" }
  | { kind: "failed"; check: DeviceCheck }
  | { kind: "not_made" }
  | { kind: "due"; row: DueRow };

export interface LaserFacts {
  device_id: string;
  checks: readonly DeviceCheck[];
  /** Whether a list for the start of a day is in force. */
  asked: boolean;
  /** What is due of the whole house. */
  due: readonly DueRow[];
  /** The entries that stand against it: what is out of service for one of them is not said twice. */
  out: readonly string[];
  /** Whether its trend should be looked at. */
  alarm: boolean;
}

/**
 * Whether the trends of a laser should be looked at. A failed power check puts the laser out of service
 * and is said there; a test cut that is far off is said nowhere else.
 */
export const trendsAreLoud = (power: readonly Pick<Trend, "meaning">[], cuts: Pick<Trend, "meaning"> | null): boolean =>
  power.some((trend) => trend.meaning.code !== "failed" && trendAlarm(trend) !== null) || (cuts !== null && trendAlarm(cuts) !== null);

/** A laser that must not be used stands above one that nobody has looked at yet; the names decide nothing. */
const PRESSING: readonly Need["kind"][] = ["out", "failed", "trend", "not_made", "due"];
export const morePressing = (one: { needs: readonly Need[] }, other: { needs: readonly Need[] }): number =>
  PRESSING.indexOf(one.needs[0]!.kind) - PRESSING.indexOf(other.needs[0]!.kind);

/** Its check of today, and what it needs. What is only soon due is left for the registers. */
export function glanceAt(laser: LaserFacts, now_ms: number, zone: string | null): { today: DeviceCheck | null; needs: Need[] } {
  const { device_id, checks, asked, due, out, alarm } = laser;
  const today = todaysCheck(checks, device_id, "start_of_day", now_ms, zone);
  // Two kinds of list may have failed: each is said, unless the laser is out of service for it.
  const failed = failing(checks, device_id).filter(({ event_id }) => !out.includes(event_id));
  const own = due.filter((row) => row.subject_kind === "device" && row.subject_id === device_id && row.state !== "soon");
  return {
    today,
    needs: [
      ...(out.length > 0 ? [{ kind: "out" } as const] : []),
      ...failed.map((check): Need => ({ kind: "failed", check })),
      ...(alarm ? [{ kind: "trend" } as const] : []),
      ...(asked && !today ? [{ kind: "not_made" } as const] : []),
      ...own.map((row): Need => ({ kind: "due", row })),
    ],
  };
}
