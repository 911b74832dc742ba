// The results on tissue: what a request allows, and why each of the others is not offered; see
// api/dose/tissue_results.py, where the limits of validity are explained.
import { number, WATER_EXTINCTION } from "./constants";
import type { DoseInput } from "./request";
import type { PropertyName } from "./schema";
import * as T from "./tissue";

/** A result in SI units, and the dotted name of the function it came from, or "given". */
export interface Result {
  value_si: number;
  formula: string;
}

/** A result that is a range in SI units, and where it came from, or "literature". */
export interface Band {
  low_si: number;
  high_si: number;
  formula: string;
}

export type Results = Map<string, Result | Band>;

const NO_TISSUE = "no tissue is stated";
const WEAK = "below 1.4 um soft tissue absorbs too little for a result on depth";
const NO_NODES = "no absorption values are held for this wavelength";
const OTHER_LINE = "it is offered at 10.6 um only, where it was measured";
const NO_KIND = "it was measured in oral tissue: the kind of tissue is not stated";
const NO_DURATION = "the pulse duration is not known, and the depth holds for short pulses only";
const LONG_PULSE =
  "it is offered for pulses below 0.5 ms only, for which the threshold was measured";
const BELOW = "the mean fluence of one pulse is not above the ablation threshold";
const CENTRE_ABOVE = "; in the centre of a Gaussian spot it is";

const NEEDS: Record<string, readonly PropertyName[]> = {
  absorption_coefficient: ["water_fraction"],
  absorption_depth: ["water_fraction"],
  thermal_relaxation_time: ["water_fraction", "density", "specific_heat", "conductivity"],
  pulse_depth: ["water_fraction", "density", "ablation_threshold", "ablation_heat"],
  cut_depth: [],
  thermal_damage: [],
};
const MEASURED = ["pulse_depth", "cut_depth", "thermal_damage"];
// A wavelength at the end of a range is inside it, as for every quantity.
const SLACK = 1e-9;

/** The value of a result that is one number. */
export function valueOf(found: Results, name: string): number | undefined {
  const result = found.get(name);
  return result !== undefined && "value_si" in result ? result.value_si : undefined;
}

/** Whether the wavelength is that of the measurements, 10.6 um. */
export function atMeasuredLine({ wavelength_m }: DoseInput): boolean {
  const away = Math.abs(wavelength_m - number("MEASURED_WAVELENGTH"));
  return away <= number("MEASURED_WAVELENGTH_MARGIN") * (1 + SLACK);
}

/** Whether more than the water absorbs at the wavelength. */
export function matrixAbsorbs({ wavelength_m }: DoseInput): boolean {
  const least = number("MATRIX_ABSORBS_FROM") * (1 - SLACK);
  return wavelength_m >= least && wavelength_m <= number("MATRIX_ABSORBS_TO") * (1 + SLACK);
}

function nodesHeld({ wavelength_m }: DoseInput): boolean {
  return WATER_EXTINCTION.some(
    (nodes) => wavelength_m >= nodes[0]![0] && wavelength_m <= nodes[nodes.length - 1]![0],
  );
}

/** Return why a request cannot have this result on tissue, or null if it could. */
export function tissueLack(given: DoseInput, name: string): string | null {
  if (Object.keys(given.tissue).length === 0) return NO_TISSUE;
  if (given.wavelength_m < number("TISSUE_FROM") * (1 - SLACK)) return WEAK;
  if (MEASURED.includes(name) && !atMeasuredLine(given)) return OTHER_LINE;
  let needs = NEEDS[name] ?? [];
  if (needs.length > 0 && !nodesHeld(given)) return NO_NODES;
  if (name === "thermal_damage" && given.tissue_kind === null) return NO_KIND;
  if (name === "cut_depth" && given.own_ablation_heat) needs = ["density"];
  const missing = needs.find((need) => given.tissue[need] === undefined);
  return missing === undefined ? null : `the tissue's ${missing.replaceAll("_", " ")} is not stated`;
}

/** Return why a known pulse has no depth, or null if it has one or is not known. */
export function pulseLimit(given: DoseInput, found: Results): string | null {
  const fluence = valueOf(found, "fluence_mean");
  const threshold = given.tissue.ablation_threshold;
  if (fluence === undefined || threshold === undefined) return null;
  const duration = valueOf(found, "pulse_duration");
  if (duration === undefined) return NO_DURATION;
  if (duration >= number("SHORT_PULSE") * (1 - SLACK)) return LONG_PULSE;
  if (fluence <= threshold) return BELOW + (2 * fluence > threshold ? CENTRE_ABOVE : "");
  return null;
}

/** A property that tissueLack found to be stated. */
const property = (given: DoseInput, name: PropertyName): number => given.tissue[name]!;

function absorption(given: DoseInput): Result {
  const { wavelength_m } = given;
  const water_absorption_per_m = T.absorption_coefficient_per_m({
    extinction_coefficient: T.water_extinction_coefficient({ wavelength_m }),
    wavelength_m,
  });
  const value_si = T.tissue_absorption_per_m({
    water_absorption_per_m, water_fraction: property(given, "water_fraction"),
  });
  return { value_si, formula: "api.dose.tissue.tissue_absorption_per_m" };
}

function relaxation(given: DoseInput, size_m: number): Result {
  const value_si = T.relaxation_time_s({
    size_m,
    diffusivity_m2_s: T.diffusivity_m2_s({
      conductivity_w_m_k: property(given, "conductivity"),
      density_kg_m3: property(given, "density"),
      specific_heat_j_kg_k: property(given, "specific_heat"),
    }),
    geometry_factor: number("LAYER_FACTOR"),
  });
  return { value_si, formula: "api.dose.tissue.relaxation_time_s" };
}

function ablationHeat(given: DoseInput): number {
  return T.volume_heat_j_m3({
    density_kg_m3: property(given, "density"), heat_j_kg: property(given, "ablation_heat"),
  });
}

/** The depth of one pulse between steady state and blow-off, which cross: in order. */
function pulseDepthBand(given: DoseInput, fluence_j_m2: number, absorption_per_m: number): Band {
  const above = { fluence_j_m2, threshold_j_m2: property(given, "ablation_threshold") };
  const steady = T.steady_depth_m({ ...above, ablation_heat_j_m3: ablationHeat(given) });
  const blowOff = T.blow_off_depth_m({ ...above, absorption_per_m });
  return {
    low_si: Math.min(steady, blowOff),
    high_si: Math.max(steady, blowOff),
    formula: "api.dose.tissue_results.pulse_depth_band",
  };
}

/** The depth of the cut for the range of published heats, or for the stated heat. */
function cutDepth(
  given: DoseInput,
  moving: { power_w: number; spot_diameter_m: number; speed_m_s: number },
): Band {
  const own = given.own_ablation_heat ? ablationHeat(given) : null;
  return {
    low_si: T.cut_depth_m({ ...moving, ablation_heat_j_m3: own ?? number("CUT_HEAT_MOST") }),
    high_si: T.cut_depth_m({ ...moving, ablation_heat_j_m3: own ?? number("CUT_HEAT_LEAST") }),
    formula: "api.dose.tissue.cut_depth_m",
  };
}

/** Return the results on tissue that can be worked out; `found` are the other results. */
export function tissueResults(given: DoseInput, found: Results): Results {
  const added: Results = new Map();
  if (tissueLack(given, "absorption_coefficient") === null) {
    const absorbed = absorption(given);
    const depth = T.absorption_depth_m({ absorption_per_m: absorbed.value_si });
    added.set("absorption_coefficient", absorbed);
    added.set("absorption_depth", { value_si: depth, formula: "api.dose.tissue.absorption_depth_m" });
    if (tissueLack(given, "thermal_relaxation_time") === null) {
      added.set("thermal_relaxation_time", relaxation(given, depth));
    }
    const fluence = valueOf(found, "fluence_mean");
    const limited = fluence === undefined || pulseLimit(given, found) !== null;
    if (!limited && tissueLack(given, "pulse_depth") === null) {
      added.set("pulse_depth", pulseDepthBand(given, fluence, absorbed.value_si));
    }
  }
  const power_w = valueOf(found, "average_power");
  const { spot, speed_m_s } = given;
  const moving = power_w !== undefined && spot !== null && speed_m_s !== null;
  if (moving && tissueLack(given, "cut_depth") === null) {
    added.set("cut_depth", cutDepth(given, { power_w, spot_diameter_m: spot.diameter_m, speed_m_s }));
  }
  if (tissueLack(given, "thermal_damage") === null) {
    added.set("thermal_damage", {
      low_si: number("DAMAGE_LEAST"), high_si: number("DAMAGE_MOST"), formula: "literature",
    });
  }
  return added;
}
