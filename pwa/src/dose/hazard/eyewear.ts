// How strong eyewear has to be, and which class a visible beam is of; see
// api/dose/hazard/eyewear.py.
import { number } from "./constants";

/** Return the optical density that brings an exposure down to its limit. */
export function optical_density(a: { exposure_over_limit: number }): number {
  return Math.max(0, Math.log10(a.exposure_over_limit));
}

/** Return by how much a large beam is harder on a filter than its irradiance says. */
export function beam_size_factor(a: { beam_diameter_m: number; material: string }): number {
  const exponent = number(a.material === "glass" ? "EN207_GLASS_EXPONENT" : "EN207_PLASTIC_EXPONENT");
  const millimetres = a.beam_diameter_m * 1000;
  return Math.min(Math.max(millimetres, number("EN207_BEAM_LEAST")), number("EN207_BEAM_MOST")) ** exponent;
}

/** Return the protection grade against a continuous beam (D), or null above the highest. */
export function grade_continuous(a: { irradiance_w_m2: number; wavelength_m: number }): number | null {
  const beyond = a.wavelength_m > number("EN207_LONG_FROM");
  return graded(a.irradiance_w_m2, number(beyond ? "EN207_D_LONG_EXPONENT" : "EN207_D_SHORT_EXPONENT"));
}

/** Return the protection grade against pulses of 1 ns to 0.25 s (I, R), or null above it. */
export function grade_pulsed(a: { fluence_j_m2: number; wavelength_m: number }): number | null {
  if (a.wavelength_m > number("EN207_LONG_FROM")) return graded(a.fluence_j_m2, number("EN207_IR_LONG_EXPONENT"));
  return graded(a.fluence_j_m2 / number("EN207_IR_SHORT_COEFFICIENT"), -number("EN207_IR_SHORT_EXPONENT"));
}

function graded(load: number, exponent: number): number | null {
  const grade = Math.max(1, Math.ceil(Math.log10(load) - exponent));
  return grade <= number("EN207_GRADES") ? grade : null;
}

/** Return by how much a train is harder on a filter than one of its pulses: N^0.25. */
export function accumulation_factor(a: { repetition_rate_hz: number; window_s: number }): number {
  return Math.max(1, a.repetition_rate_hz * a.window_s) ** number("EN207_ACCUMULATION_EXPONENT");
}

/** Return the class of a continuous visible beam by what passes a 7 mm aperture. */
export function visible_class(a: { power_w: number; wavelength_m: number }): string {
  if (a.wavelength_m >= number("CLASS_1_FROM") && a.power_w <= number("CLASS_1_POWER")) return "1";
  if (a.power_w <= number("CLASS_2_POWER")) return "2";
  if (a.power_w <= number("CLASS_3R_POWER")) return "3R";
  return a.power_w <= number("CLASS_3B_POWER") ? "3B" : "4";
}
