/**
 * Test cuts into damp paper: the depth that energy would give, and each cut as a check. Pure; mirror of
 * `api/devices/test_cut.py`. A cut says how a laser compares with itself, never how many watts leave it.
 */
import { to_si } from "../dose/quantity";
import { cut_depth_m } from "../dose/tissue";
import type { CutRecorded, CutReferenced } from "../events/catalogue";
import { mean } from "./charts";
import type { Check } from "./trend";

/** Water from room temperature to steam, rounded as the design does [J/m3]. */
const WATER_HEAT_J_M3 = 2.5e9;

interface Stroke { power_w: number; spot_diameter_m: number; length_m: number; time_s: number }

/** The depth of one straight cut if all the power made steam of water [m]. Throws where something is not above 0. */
export function expectedDepth({ power_w, spot_diameter_m, length_m, time_s }: Stroke): number {
  if (!(time_s > 0)) throw new RangeError("the time must be above 0");
  return cut_depth_m({ power_w, spot_diameter_m, speed_m_s: length_m / time_s, ablation_heat_j_m3: WATER_HEAT_J_M3 });
}

type SetUp = Pick<CutReferenced, "expected_average_power" | "spot_diameter">;
type Cut = Pick<CutRecorded, "cut_length" | "cut_time" | "depths">;

/** Measured depth over expected depth, and the latter [m]; null where it cannot be read. */
export function depthOf(reference: SetUp, cut: Cut): { ratio: number | null; expected_m: number } | null {
  try {
    const expected_m = expectedDepth({
      power_w: to_si(reference.expected_average_power, "W"), spot_diameter_m: to_si(reference.spot_diameter, "m"),
      length_m: to_si(cut.cut_length, "m"), time_s: to_si(cut.cut_time, "s"),
    });
    const ratio = mean(cut.depths.map((one) => to_si(one, "m"))) / expected_m;
    return { ratio: Number.isFinite(ratio) ? ratio : null, expected_m };
  } catch {
    return null;
  }
}

/** The cuts made by a set-up as checks; what cannot be read is left out, because it says nothing. */
export function cutChecks(reference: SetUp, cuts: readonly (Cut & { test_cut_id: string; done_at: string })[]): Check[] {
  return cuts.flatMap((cut) => {
    const ratio = depthOf(reference, cut)?.ratio ?? null;
    return ratio === null ? [] : [{ check_id: cut.test_cut_id, at: cut.done_at, value: ratio }];
  });
}
