// The results on tissue: what a request allows, and why each of the others is not offered; see
// api/dose/tissue_results.py, where the limits of validity are explained.
import { number, WATER_EXTINCTION } from "./constants";
import type { DoseInput } from "./request";
import type { PropertyName } from "./schema";
import { type Ends, type Result, type Results, type Steps, valueOf } from "./steps";
import * as T from "./tissue";

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

const WATER = ["water_fraction"] as const;
const BULK = ["density", "specific_heat", "conductivity"] as const;
const REMOVAL = ["density", "ablation_threshold", "ablation_heat"] as const;
const NEEDS: Record<string, readonly PropertyName[]> = {
  absorption_coefficient: WATER,
  absorption_depth: WATER,
  thermal_relaxation_time: [...WATER, ...BULK],
  pulse_depth: [...WATER, ...REMOVAL],
  cut_depth: [],
  thermal_damage: [],
};
export const TISSUE_NAMES = Object.keys(NEEDS);
const MEASURED = ["pulse_depth", "cut_depth", "thermal_damage"];
// A wavelength at the end of a range is inside it, as for every quantity.
const SLACK = 1e-9;

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

/** The properties of the tissue that a result rests on. */
export function needsOf({ own_ablation_heat }: DoseInput, name: string): readonly PropertyName[] {
  if (name === "cut_depth" && own_ablation_heat) return ["density", "ablation_heat"];
  return NEEDS[name] ?? [];
}

/** Return for each result on tissue why a request cannot have it, or null if it could. */
export function tissueLacks(given: DoseInput): Record<string, string | null> {
  const every = (reason: string): Record<string, string> =>
    Object.fromEntries(TISSUE_NAMES.map((name) => [name, reason]));
  if (Object.keys(given.tissue).length === 0) return every(NO_TISSUE);
  if (given.wavelength_m < number("TISSUE_FROM") * (1 - SLACK)) return every(WEAK);
  const measured = atMeasuredLine(given);
  const held = nodesHeld(given);
  return Object.fromEntries(TISSUE_NAMES.map((name) => [name, lack(given, name, measured, held)]));
}

function lack(given: DoseInput, name: string, measured: boolean, held: boolean): string | null {
  if (MEASURED.includes(name) && !measured) return OTHER_LINE;
  if (NEEDS[name]!.length > 0 && !held) return NO_NODES;
  if (name === "thermal_damage" && given.tissue_kind === null) return NO_KIND;
  const missing = needsOf(given, name).find((need) => given.tissue[need] === undefined);
  return missing === undefined ? null : `the tissue's ${missing.replaceAll("_", " ")} is not stated`;
}

function offeredTo(given: DoseInput): ReadonlySet<string> {
  const lacks = tissueLacks(given);
  return new Set(TISSUE_NAMES.filter((name) => lacks[name] === null));
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

type Properties<N extends PropertyName> = { [name in N]: number };

/** Properties that are known to be stated. */
function propertiesOf<N extends PropertyName>(given: DoseInput, names: readonly N[]): Properties<N> {
  const found = {} as Properties<N>;
  for (const name of names) found[name] = given.tissue[name]!;
  return found;
}

function absorptionPerM(a: { wavelength_m: number; water_fraction: number }): number {
  const { wavelength_m, water_fraction } = a;
  const water_absorption_per_m = T.absorption_coefficient_per_m({
    extinction_coefficient: T.water_extinction_coefficient({ wavelength_m }),
    wavelength_m,
  });
  return T.tissue_absorption_per_m({ water_absorption_per_m, water_fraction });
}

function relaxationS(a: { size_m: number } & Properties<(typeof BULK)[number]>): number {
  const diffusivity_m2_s = T.diffusivity_m2_s({
    conductivity_w_m_k: a.conductivity, density_kg_m3: a.density,
    specific_heat_j_kg_k: a.specific_heat,
  });
  return T.relaxation_time_s({
    size_m: a.size_m, diffusivity_m2_s, geometry_factor: number("LAYER_FACTOR"),
  });
}

/** The depth of one pulse: steady state and blow-off, which cross, in order. */
function pulseDepthBand(
  a: { fluence_j_m2: number; absorption_per_m: number } & Properties<(typeof REMOVAL)[number]>,
): Ends {
  const { fluence_j_m2, ablation_threshold: threshold_j_m2, absorption_per_m } = a;
  const ablation_heat_j_m3 = T.volume_heat_j_m3({
    density_kg_m3: a.density, heat_j_kg: a.ablation_heat,
  });
  const steady = T.steady_depth_m({ fluence_j_m2, threshold_j_m2, ablation_heat_j_m3 });
  const blowOff = T.blow_off_depth_m({ fluence_j_m2, threshold_j_m2, absorption_per_m });
  return [Math.min(steady, blowOff), Math.max(steady, blowOff)];
}

interface Cut {
  power_w: number;
  spot_diameter_m: number;
  speed_m_s: number;
  density?: number;
  ablation_heat?: number;
}

/** The depth of the cut for the range of published heats, or for the stated heat. */
function cutDepthBand({ density, ablation_heat, power_w, spot_diameter_m, speed_m_s }: Cut): Ends {
  const at = (ablation_heat_j_m3: number): number =>
    T.cut_depth_m({ power_w, spot_diameter_m, speed_m_s, ablation_heat_j_m3 });
  if (density === undefined || ablation_heat === undefined) {
    return [at(number("CUT_HEAT_MOST")), at(number("CUT_HEAT_LEAST"))];
  }
  const own = at(T.volume_heat_j_m3({ density_kg_m3: density, heat_j_kg: ablation_heat }));
  return [own, own];
}

/** Return the absorption coefficient of the tissue of a request that could have it. */
export function absorptionOf(given: DoseInput, steps: Steps): Result {
  return steps.result(
    "absorption_coefficient",
    "api.dose.tissue.tissue_absorption_per_m",
    absorptionPerM,
    { wavelength_m: given.wavelength_m, water_fraction: given.tissue.water_fraction! },
  ) as Result;
}

/** Add the results that rest on the absorption coefficient. */
function addAbsorbed(
  found: Results,
  given: DoseInput,
  offered: ReadonlySet<string>,
  steps: Steps,
): void {
  const absorption = absorptionOf(given, steps);
  const absorption_per_m = absorption.value_si;
  const depth = steps.result(
    "absorption_depth", "api.dose.tissue.absorption_depth_m", T.absorption_depth_m,
    { absorption_per_m },
  ) as Result;
  found.set("absorption_coefficient", absorption);
  found.set("absorption_depth", depth);
  if (offered.has("thermal_relaxation_time")) {
    const bulk = { size_m: depth.value_si, ...propertiesOf(given, BULK) };
    const formula = "api.dose.tissue.relaxation_time_s";
    const name = "thermal_relaxation_time";
    found.set(name, steps.result(name, formula, relaxationS, bulk));
  }
  const fluence_j_m2 = valueOf(found, "fluence_mean");
  const limited = fluence_j_m2 === undefined || pulseLimit(given, found) !== null;
  if (!limited && offered.has("pulse_depth")) {
    const pulse = { fluence_j_m2, absorption_per_m, ...propertiesOf(given, REMOVAL) };
    const formula = "api.dose.tissue_results.pulse_depth_band";
    found.set("pulse_depth", steps.result("pulse_depth", formula, pulseDepthBand, pulse));
  }
}

/** Add the results on tissue that can be worked out to the other results. */
export function addTissueResults(found: Results, given: DoseInput, steps: Steps): void {
  // Evaluations of one request differ in what is stated by the wavelength at most.
  const offered = steps.once("offered", given.wavelength_m, () => offeredTo(given));
  if (offered.has("absorption_coefficient")) addAbsorbed(found, given, offered, steps);
  const power_w = valueOf(found, "average_power");
  const { spot, speed_m_s } = given;
  const moving = power_w !== undefined && spot !== null && speed_m_s !== null;
  if (moving && offered.has("cut_depth")) {
    const own = propertiesOf(given, needsOf(given, "cut_depth"));
    const cut: Cut = { power_w, spot_diameter_m: spot.diameter_m, speed_m_s, ...own };
    found.set(
      "cut_depth", steps.result("cut_depth", "api.dose.tissue.cut_depth_m", cutDepthBand, cut),
    );
  }
  if (offered.has("thermal_damage")) {
    found.set("thermal_damage", {
      low_si: number("DAMAGE_LEAST"), high_si: number("DAMAGE_MOST"), formula: "literature",
    });
  }
}
