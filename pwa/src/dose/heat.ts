// Answer a heat request: temperature, damage and removal below one place of the surface over time;
// see api/dose/heat.py. Long enough to hold up a screen: run it in heat_worker.ts.
import { basisOf, deliveredFraction } from "./arrival";
import { ENGINE_VERSION, number } from "./constants";
import { hasPulses, solveEmission } from "./emitted";
import type { FieldErrors } from "./errors";
import { cellSizes, depthOfDamage, Heat, type Medium } from "./heat_model";
import { diffusivityOf, type Plan, planFor, reachOf, type Resolution, stepsOf } from "./heat_plan";
import { stretches, trainFrom } from "./heat_train";
import { drying_heat_j_m3, sensible_heat_j_m3 } from "./heating";
import type { DoseWarning } from "./notes";
import { type DoseInput, parseHeat, refuse } from "./request";
import { deliveredValues } from "./results";
import { type HeatRequest, REQUIRED } from "./schema";
import { Steps } from "./steps";
import { relaxation_time_s, volume_heat_j_m3 } from "./tissue";
import { absorptionOf, tissueLacks } from "./tissue_results";

const NO_TRAIN =
  "must settle peak power, pulse duration and rate (pulsed), the power while emitting (gated) or " +
  "the power (continuous), without contradiction";
const NO_HEAT = "the tissue's ablation heat is not stated";
const NOTES: Record<string, string> = {
  model:
    "neither a floor nor a ceiling: heat spreads straight down only; no motion of the spot, " +
    "char, splash or blood flow",
  beside_measured:
    "to be read beside the thermal damage measured in oral tissue, 75 to 540 um, never in its " +
    "place",
  mean_irradiance:
    "the irradiance is the mean over the spot; in the centre of a Gaussian spot it is twice that",
  extrapolated: "the damage integral is extrapolated above 60 degrees Celsius",
  outside_validity: "later than w^2 / (4 kappa) heat spreads sideways: outside its validity there",
  rectangular: "pulses count as rectangular ones of the same energy and duration",
  "fewer steps": "coarser: fewer steps in each pulse, as the request is long",
  "mean power":
    "coarser: the mean power instead of pulses, as the request holds too many of them",
};
const SOURCES: Record<string, string[]> = {
  beside_measured: ["suter2017", "tongue2014", "damagerange"],
  extrapolated: ["henriques1947"],
  outside_validity: ["carslaw1959"],
};
const CODES: Record<string, string> = { "fewer steps": "coarser", "mean power": "coarser" };

/** The surface over time: each point, which of them are the ends of stretches, residuals. */
interface Curve {
  times_s: number[];
  rises_k: number[];
  ends: number[];
  residual_times_s: number[];
  residual_rises_k: number[];
}

export interface Series {
  values: number[];
  unit: string;
}

interface Single {
  value: number;
  unit: string;
  formula: string;
  sources: string[];
}

export interface HeatResponse {
  engine: string;
  basis: "set" | "verified" | "design";
  irradiance: { value: number; unit: string };
  valid_until: { value: number; unit: string };
  resolution: Resolution;
  steps: number;
  constants: Record<string, { value: number; unit: string }>;
  results: {
    time: Series;
    surface_temperature: Series;
    residual_time: Series;
    residual_temperature: Series;
    depth: Series;
    temperature: Series;
    damage: Series;
    removed_depth: Single;
    damage_depth: Single;
    energy_balance_error: Single;
  };
  warnings: DoseWarning[];
}

/** Return the tissue of a request as the model takes it. */
function mediumOf(given: DoseInput): Medium {
  const own = given.tissue;
  const density_kg_m3 = own.density!;
  const specific_heat_j_kg_k = own.specific_heat!;
  const rise_k = number("BOILING_TEMPERATURE") - number("BODY_TEMPERATURE");
  const warming = { density_kg_m3, specific_heat_j_kg_k, rise_k };
  return {
    conductivity_w_m_k: own.conductivity!,
    heat_capacity_j_m3_k: density_kg_m3 * specific_heat_j_kg_k,
    absorption_per_m: absorptionOf(given, new Steps()).value_si,
    boiling_heat_j_m3: sensible_heat_j_m3(warming),
    dry_heat_j_m3: drying_heat_j_m3({
      ...warming, water_fraction: own.water_fraction!, latent_heat_j_kg: number("LATENT_HEAT"),
    }),
    removal_heat_j_m3: volume_heat_j_m3({ density_kg_m3, heat_j_kg: own.ablation_heat! }),
  };
}

/** Return what a dose request lacks for a simulation. */
function unfit(given: DoseInput): FieldErrors {
  const errors: FieldErrors = {};
  if (given.spot === null) errors["spot"] = [REQUIRED];
  if (Object.keys(given.tissue).length === 0) {
    errors["tissue"] = [REQUIRED];
    return errors;
  }
  const lack = tissueLacks(given).thermal_relaxation_time ?? null;
  if (lack !== null) errors[lack.startsWith("the tissue's") ? "tissue" : "wavelength"] = [lack];
  else if (given.tissue.ablation_heat === undefined) errors["tissue"] = [NO_HEAT];
  return errors;
}

/** Return the tissue at the end of a plan, and its surface on the way. */
export function run(plan: Plan): { heat: Heat; curve: Curve } {
  const heat = new Heat(plan.medium, cellSizes(plan.medium.absorption_per_m, reachOf(plan)));
  const curve: Curve = {
    times_s: [0], rises_k: [0], ends: [0], residual_times_s: [], residual_rises_k: [],
  };
  let time_s = 0;
  let first = true;
  for (const stretch of stretches(plan.train, plan.duration_s)) {
    if (!first && stretch.starts_pulse) {
      curve.residual_times_s.push(time_s);
      curve.residual_rises_k.push(heat.surfaceRise());
    }
    first = false;
    const irradiance = stretch.power_w / plan.area_m2;
    for (const step_s of stepsOf(plan, stretch.duration_s, irradiance)) {
      heat.step(step_s, irradiance);
      time_s += step_s;
      curve.times_s.push(time_s);
      curve.rises_k.push(heat.surfaceRise());
    }
    curve.ends.push(curve.times_s.length - 1);
  }
  return { heat, curve };
}

/** At most so many of the points, evenly, the first and the last among them. */
function thinned(points: number[], most: number): number[] {
  if (points.length <= most) return points;
  const last = points.length - 1;
  return Array.from({ length: most }, (_, i) => points[Math.floor(i * last / (most - 1))]!);
}

function shownPoints({ times_s, ends }: Curve): number[] {
  const most = number("HEAT_POINTS_AT_MOST");
  const every = times_s.map((_, i) => i);
  const longTrain = every.length > most && ends.length > Math.floor(most / 10);
  return thinned(longTrain ? ends : every, most);
}

function celsius(rises_k: readonly number[]): Series {
  return { values: rises_k.map((rise) => number("BODY_TEMPERATURE") + rise), unit: "Cel" };
}

function resultsOf(heat: Heat, curve: Curve): HeatResponse["results"] {
  const shown = shownPoints(curve);
  const kept = thinned(curve.residual_times_s.map((_, i) => i), number("HEAT_POINTS_AT_MOST"));
  const depths = heat.depths();
  const micrometres = (depth_m: number, sources: string[]): Single => ({
    value: depth_m * 1e6, unit: "um", formula: "api.dose.heat.run", sources,
  });
  return {
    time: { values: shown.map((i) => curve.times_s[i]!), unit: "s" },
    surface_temperature: celsius(shown.map((i) => curve.rises_k[i]!)),
    residual_time: { values: kept.map((i) => curve.residual_times_s[i]!), unit: "s" },
    residual_temperature: celsius(kept.map((i) => curve.residual_rises_k[i]!)),
    depth: { values: depths.map((depth) => depth * 1e6), unit: "um" },
    temperature: celsius(Array.from(heat.rise_k)),
    damage: { values: Array.from(heat.damage), unit: "1" },
    removed_depth: micrometres(heat.removed_m, ["payne1997"]),
    damage_depth: micrometres(depthOfDamage(depths, heat.damage), ["henriques1947"]),
    energy_balance_error: {
      value: heat.balanceError(), unit: "1", formula: "api.dose.heat.run", sources: ["definition"],
    },
  };
}

/** Return the response for a parsed heat request; throws BadInput for what it lacks. */
function simulate(given: DoseInput): HeatResponse {
  const errors = unfit(given);
  if (Object.keys(errors).length > 0) throw refuse(errors);
  const fraction = deliveredFraction(given.delivery);
  const { known } = solveEmission(given);
  const arriving = fraction === null ? known : deliveredValues(known, fraction.value_si);
  const train = trainFrom(given, arriving);
  if (train === null) throw refuse({ emission: [NO_TRAIN] });
  const radius_m = given.spot!.diameter_m / 2;
  const duration_s = given.stated.duration as number;
  const plan = planFor({
    medium: mediumOf(given), train, area_m2: Math.PI * radius_m * radius_m, duration_s,
  });
  const { heat, curve } = run(plan);
  const valid_s = relaxation_time_s({
    size_m: radius_m, diffusivity_m2_s: diffusivityOf(plan), geometry_factor: number("LAYER_FACTOR"),
  });
  const codes = ["model", "beside_measured", "mean_irradiance", "extrapolated"];
  if (duration_s > valid_s) codes.push("outside_validity");
  if (hasPulses(given) && given.pulse_shape !== "rectangular") codes.push("rectangular");
  if (plan.resolution !== "fine") codes.push(plan.resolution);
  return {
    engine: ENGINE_VERSION,
    basis: basisOf(given.delivery) ?? "set",
    irradiance: { value: plan.train.power_w / plan.area_m2 * 1e-4, unit: "W/cm2" },
    valid_until: { value: valid_s, unit: "s" },
    resolution: plan.resolution,
    steps: curve.times_s.length - 1,
    constants: {
      damage_log_frequency: { value: number("DAMAGE_LOG_FREQUENCY"), unit: "1" },
      damage_activation: { value: number("DAMAGE_ACTIVATION"), unit: "K" },
    },
    results: resultsOf(heat, curve),
    warnings: codes.map((code) => ({
      code: CODES[code] ?? code, text: NOTES[code] ?? "", sources: SOURCES[code] ?? [],
    })),
  };
}

/** Return the response for a heat request; throws BadInput with errors by field. */
export function respond(request: HeatRequest): HeatResponse {
  return simulate(parseHeat(request));
}
