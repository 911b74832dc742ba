// Answer a hazard request: limits, distances, eyewear, and what cannot be said and why; see
// api/dose/hazard/evaluate.py.
import { ENGINE_VERSION } from "../constants";
import { fluence_mean_j_m2, irradiance_mean_w_m2 } from "../exposure";
import { number, RESULTS, type Target } from "./constants";
import { diffuse_distance_m, direct_distance_m, lens_distance_m, tip_distance_m } from "./distances";
import { accumulation_factor, beam_size_factor, grade_continuous, grade_pulsed, optical_density, visible_class } from "./eyewear";
import {
  averaged_diameter_m, is_blue_light, is_too_short_for_edition, large_area_irradiance_w_m2, limit_fluence_j_m2, limit_irradiance_w_m2,
  limiting_aperture_m, NotOffered, offered, type Exposure,
} from "./limits";
import { notes, type Note } from "./notes";
import { parse, type HazardInput } from "./request";
import { pulse_limits_j_m2 } from "./train";

const NO_LIMIT = "no limit is offered for this wavelength and time";
const NO_BLUE = "below 600 nm and beyond 10 s the blue-light limit applies, which is not offered";
const NO_SHORT_RETINAL = "below 1 ns edition 2006/25/EC offers no limit for the retina";
const NO_APERTURE = "beyond 100 um no aperture for the eye is offered";
const NEEDS_BEAM = "needs beam.full_divergence";
const NEEDS_LENS = "needs lens";
const NEEDS_TIP = "needs tip";
const NOT_AVERAGE = "a single pulse has no average power";
const NOT_PULSED = "the power is not given as pulses";
const NOT_GRADED = "grades are given for pulses of 1 ns to 0.25 s";
const ABOVE_GRADES = "above the highest grade, LB10";
const NOT_VISIBLE = "classes are given for continuous beams of 400 to 700 nm";

/** A result that cannot be given; its message says why. */
class Unsaid extends Error {}

interface Result { value: number | string; formula: string; rule?: string }

export interface HazardAnswer { value: number | string; unit: string; formula: string; sources: readonly string[]; rule?: string }
export interface HazardResponse {
  engine: string;
  edition: string;
  results: Record<string, HazardAnswer>;
  absent: Record<string, string>;
  warnings: Note[];
}

function largeArea(given: HazardInput, target: Target): boolean {
  return target === "skin" && given.exposed_area_m2 !== null && given.exposure_time_s > number("LONG_FROM") &&
    given.wavelength_m >= number("RETINAL_TO");
}

/** Throws Unsaid where the edition offers no limit there. */
function mustBeOffered(place: Exposure): void {
  if (offered(place)) return;
  if (is_blue_light(place)) throw new Unsaid(NO_BLUE);
  throw new Unsaid(is_too_short_for_edition(place) ? NO_SHORT_RETINAL : NO_LIMIT);
}

/** Irradiance and radiant exposure that decide; for a train the latter is that of one pulse. */
function limitOf(given: HazardInput, target: Target): { irradiance: number; fluence: number; rule?: string } {
  const whole = { wavelength_m: given.wavelength_m, exposure_time_s: given.exposure_time_s, target, edition: given.edition };
  mustBeOffered(whole);
  let irradiance = limit_irradiance_w_m2(whole);
  let fluence = limit_fluence_j_m2(whole);
  if (largeArea(given, target)) {
    irradiance = large_area_irradiance_w_m2({ exposed_area_m2: given.exposed_area_m2! });
    fluence = irradiance * given.exposure_time_s;
  }
  if (given.repetition_rate_hz === null) return { irradiance, fluence };
  const pulse_duration_s = given.pulse_duration_s!;
  mustBeOffered({ ...whole, exposure_time_s: pulse_duration_s });
  const rules = pulse_limits_j_m2({
    ...whole, pulse_duration_s, repetition_rate_hz: given.repetition_rate_hz,
  });
  const rule = Object.keys(rules).reduce((least, name) => (rules[name]! < rules[least]! ? name : least));
  return { irradiance, fluence: Math.min(rules[rule]!, fluence), rule };
}

/** The area over which the beam must have spread to be at its limit; the stricter rule decides. */
function hazardArea(given: HazardInput, target: Target): number {
  const { irradiance, fluence } = limitOf(given, target);
  const areas: number[] = [];
  if (given.average_power_w !== null) areas.push(given.average_power_w / irradiance);
  if (given.pulse_energy_j !== null) areas.push(given.pulse_energy_j / fluence);
  return Math.max(...areas);
}

function limitIrradiance(given: HazardInput): Result {
  const formula = largeArea(given, given.target) ? "limits.large_area_irradiance_w_m2" : "limits.limit_irradiance_w_m2";
  return { value: limitOf(given, given.target).irradiance, formula };
}

function limitFluence(given: HazardInput): Result {
  const { fluence, rule } = limitOf(given, given.target);
  return rule === undefined
    ? { value: fluence, formula: "limits.limit_fluence_j_m2" }
    : { value: fluence, formula: "train.pulse_limits_j_m2", rule };
}

function apertureM(given: HazardInput): number {
  try {
    return limiting_aperture_m(given);
  } catch (problem) {
    if (problem instanceof NotOffered) throw new Unsaid(NO_APERTURE);
    throw problem;
  }
}

function direct(given: HazardInput, target: Target): Result {
  if (given.beam_divergence_rad === null) throw new Unsaid(NEEDS_BEAM);
  const value = direct_distance_m({
    hazard_area_m2: hazardArea(given, target), beam_diameter_m: given.beam_diameter_m,
    full_divergence_rad: given.beam_divergence_rad,
  });
  return { value, formula: "distances.direct_distance_m" };
}

function lens(given: HazardInput): Result {
  const { lens_focal_length_m: focal_length_m, lens_beam_diameter_m: beam_diameter_at_lens_m } = given;
  if (focal_length_m === null || beam_diameter_at_lens_m === null) throw new Unsaid(NEEDS_LENS);
  const value = lens_distance_m({ hazard_area_m2: hazardArea(given, given.target), focal_length_m, beam_diameter_at_lens_m });
  return { value, formula: "distances.lens_distance_m" };
}

function tip(given: HazardInput): Result {
  const { tip_diameter_m, tip_divergence_rad: full_divergence_rad } = given;
  if (tip_diameter_m === null || full_divergence_rad === null) throw new Unsaid(NEEDS_TIP);
  const value = tip_distance_m({ hazard_area_m2: hazardArea(given, given.target), tip_diameter_m, full_divergence_rad });
  return { value, formula: "distances.tip_distance_m" };
}

function diffuse(given: HazardInput): Result {
  const value = diffuse_distance_m({
    hazard_area_m2: hazardArea(given, given.target), reflectance: given.reflectance, angle_rad: given.reflection_angle_rad,
  });
  return { value, formula: "distances.diffuse_distance_m" };
}

function density(given: HazardInput): Result {
  apertureM(given);
  const diameter_m = averaged_diameter_m(given);
  const exposure_over_limit = hazardArea(given, given.target) / (Math.PI / 4 * diameter_m ** 2);
  return { value: optical_density({ exposure_over_limit }), formula: "eyewear.optical_density" };
}

const gradedDiameter = (given: HazardInput): number => given.beam_diameter_m || apertureM(given);

function sizeFactor(given: HazardInput): number {
  if (!given.with_beam_size_factor) return 1;
  return beam_size_factor({ beam_diameter_m: gradedDiameter(given), material: given.material });
}

function graded(grade: number | null, formula: string): Result {
  if (grade === null) throw new Unsaid(ABOVE_GRADES);
  return { value: grade, formula };
}

function gradeD(given: HazardInput): Result {
  if (given.average_power_w === null) throw new Unsaid(NOT_AVERAGE);
  const irradiance_w_m2 = sizeFactor(given) *
    irradiance_mean_w_m2({ power_w: given.average_power_w, spot_diameter_m: gradedDiameter(given) });
  return graded(grade_continuous({ irradiance_w_m2, wavelength_m: given.wavelength_m }), "eyewear.grade_continuous");
}

function gradeIr(given: HazardInput): Result {
  if (given.pulse_energy_j === null || given.pulse_duration_s === null) throw new Unsaid(NOT_PULSED);
  const [shortest_s, longest_s] = [number("EN207_PULSE_LEAST"), number("EN207_PULSE_MOST")];
  if (!(given.pulse_duration_s >= shortest_s && given.pulse_duration_s <= longest_s)) throw new Unsaid(NOT_GRADED);
  let fluence = sizeFactor(given) *
    fluence_mean_j_m2({ pulse_energy_j: given.pulse_energy_j, spot_diameter_m: gradedDiameter(given) });
  if (given.repetition_rate_hz !== null && given.accumulation_window_s !== null) {
    fluence *= accumulation_factor({ repetition_rate_hz: given.repetition_rate_hz, window_s: given.accumulation_window_s });
  }
  return graded(grade_pulsed({ fluence_j_m2: fluence, wavelength_m: given.wavelength_m }), "eyewear.grade_pulsed");
}

function visible(given: HazardInput): Result {
  if (given.power_w === null || given.wavelength_m > number("VISIBLE_TO")) throw new Unsaid(NOT_VISIBLE);
  return { value: visible_class({ power_w: given.power_w, wavelength_m: given.wavelength_m }), formula: "eyewear.visible_class" };
}

const WORK: Record<string, (given: HazardInput) => Result> = {
  exposure_limit_irradiance: limitIrradiance,
  exposure_limit_fluence: limitFluence,
  limiting_aperture: (given) => ({ value: apertureM(given), formula: "limits.limiting_aperture_m" }),
  direct_distance: (given) => direct(given, given.target),
  lens_distance: lens,
  tip_distance: tip,
  diffuse_distance: diffuse,
  skin_distance: (given) => direct(given, "skin"),
  optical_density: density,
  en207_d: gradeD,
  en207_ir: gradeIr,
  aiming_beam_class: visible,
};

function asAnswer(name: string, { value, formula, rule }: Result): HazardAnswer {
  const entry = RESULTS[name]!;
  return {
    value: typeof value === "number" ? value * entry.per_si : value,
    unit: entry.unit,
    formula: `api.dose.hazard.${formula}`,
    sources: entry.sources,
    ...(rule === undefined ? {} : { rule }),
  };
}

/** Return the response of the contract for a parsed request. */
export function evaluate(given: HazardInput): HazardResponse {
  const results: Record<string, HazardAnswer> = {};
  const absent: Record<string, string> = {};
  for (const [name, work] of Object.entries(WORK)) {
    try {
      results[name] = asAnswer(name, work(given));
    } catch (problem) {
      if (!(problem instanceof Unsaid)) throw problem;
      absent[name] = problem.message;
    }
  }
  return { engine: ENGINE_VERSION, edition: given.edition, results, absent, warnings: notes(given, results) };
}

/** Return the response of the contract; throws BadInput with what is wrong by field path. */
export function respond(request: unknown): HazardResponse {
  return evaluate(parse(request));
}

export { BadInput } from "../errors";
