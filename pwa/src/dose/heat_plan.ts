// How a simulation is stepped through: as fine as wanted, or coarser so that it stays short; see
// api/dose/heat_plan.py.
import { number } from "./constants";
import type { Medium } from "./heat_model";
import { averaged, pulseCount, steps, stretches, type Train } from "./heat_train";
import { diffusion_length_m } from "./heating";

export type Resolution = "fine" | "fewer steps" | "mean power";
const COARSE_IN_PULSE = 6;
const COARSE_GROWTH = 2;

/** A train on a medium with the resolution it gets. */
export interface Plan {
  medium: Medium;
  train: Train;
  area_m2: number;
  duration_s: number;
  resolution: Resolution;
}

/** Thermal diffusivity of a plan's medium [m2/s]. */
export function diffusivityOf({ medium }: Plan): number {
  return medium.conductivity_w_m_k / medium.heat_capacity_j_m3_k;
}

/** Return the steps through a stretch of one irradiance; see the server's reasons. */
export function stepsOf(plan: Plan, stretch_s: number, irradiance_w_m2: number): number[] {
  const fine = plan.resolution === "fine";
  const inPulse = fine ? number("HEAT_STEPS_IN_PULSE") : COARSE_IN_PULSE;
  const growth = fine ? number("HEAT_STEP_GROWTH") : COARSE_GROWTH;
  const absorption = plan.medium.absorption_per_m;
  const spread = 1 / (diffusivityOf(plan) * absorption * absorption * inPulse);
  if (irradiance_w_m2 === 0) {
    return steps(stretch_s, { first_s: spread, most_s: Infinity, growth });
  }
  const removal = plan.medium.removal_heat_j_m3 / (2 * absorption * irradiance_w_m2);
  const usual = stretch_s / inPulse;
  const budget = number("HEAT_STEPS_AT_MOST");
  let least = usual / 4;
  if (stretch_s > number("HEAT_STEPS_IN_PULSE") * spread) {
    least = fine ? 0 : 4 * stretch_s / budget;
  }
  const first_s = Math.max(Math.min(spread, usual, removal), least);
  // However strong the beam: twice the budget is too many steps already, and no longer list.
  const most_s = Math.max(Math.min(removal, usual), least, stretch_s / (2 * budget));
  return steps(stretch_s, { first_s, most_s, growth });
}

function affordable(plan: Plan): boolean {
  const budget = number("HEAT_STEPS_AT_MOST");
  if (2 * pulseCount(plan.train, plan.duration_s) > budget) return false;
  const lengths = new Map<string, number>();
  let total = 0;
  for (const { duration_s, power_w } of stretches(plan.train, plan.duration_s)) {
    const key = `${duration_s} ${power_w}`;
    let length = lengths.get(key);
    if (length === undefined) {
      length = stepsOf(plan, duration_s, power_w / plan.area_m2).length;
      lengths.set(key, length);
    }
    total += length;
    if (total > budget) return false;
  }
  return true;
}

/** How deep the model has to be: for conduction, and for what one step removes [m]. */
export function reachOf(plan: Plan): number {
  const time_s = plan.duration_s;
  const spread = diffusion_length_m({ diffusivity_m2_s: diffusivityOf(plan), time_s });
  const irradiance = plan.train.power_w / plan.area_m2;
  let removed = 0;
  for (const { duration_s } of stretches(plan.train, plan.duration_s)) {
    const longest = Math.max(...stepsOf(plan, duration_s, irradiance));
    removed = longest * irradiance / plan.medium.removal_heat_j_m3;
    break;
  }
  return 10 / plan.medium.absorption_per_m + number("HEAT_REACH") * spread + 2 * removed;
}

/** Return the finest plan that is affordable. */
export function planFor(wanted: Omit<Plan, "resolution">): Plan {
  for (const resolution of ["fine", "fewer steps"] as const) {
    const plan = { ...wanted, resolution };
    if (affordable(plan)) return plan;
  }
  return { ...wanted, train: averaged(wanted.train), resolution: "mean power" };
}
