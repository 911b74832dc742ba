// Exposure limits of eye and skin, and the apertures over which an exposure is averaged; see
// api/dose/hazard/limits.py. They do not apply to the tissue that is being treated.
import { LIMITS, number, type LimitRow, type Target } from "./constants";
import { EU_2006, short_retinal_j_m2 } from "./editions";

/** Without an edition that of ICNIRP 2013. */
export interface Exposure { wavelength_m: number; exposure_time_s: number; target: Target; edition?: string }

/** No limit, or no aperture, is offered here. */
export class NotOffered extends Error {}

/** Return the correction for less absorption in the retina's pigment. */
export function c_a(a: { wavelength_m: number }): number {
  const nanometres = a.wavelength_m * 1e9;
  if (nanometres <= number("C_A_FLAT_TO")) return 1;
  if (nanometres >= number("C_A_FLAT_FROM")) return number("C_A_MOST");
  return 10 ** (number("C_A_GROWTH") * (nanometres - number("C_A_FLAT_TO")));
}

/** Return the correction for absorption before the retina. */
export function c_c(a: { wavelength_m: number; edition?: string }): number {
  const nanometres = a.wavelength_m * 1e9;
  if (nanometres <= number("C_C_FLAT_TO")) return 1;
  if (nanometres < number("C_C_LATER_FROM")) return 10 ** (number("C_C_GROWTH") * (nanometres - number("C_C_FLAT_TO")));
  if (a.edition === EU_2006) return number("C_C_2006_LATER");
  return number("C_C_LATER_LEAST") + 10 ** (number("C_C_LATER_GROWTH") * (nanometres - number("C_C_LATER_ZERO")));
}

function rowOf({ wavelength_m, exposure_time_s, target }: Exposure): LimitRow | undefined {
  const rows = LIMITS[target];
  const longest_m = Math.max(...rows.map((row) => row.to_m));
  const longest_s = Math.max(...rows.map((row) => row.to_s));
  return rows.find((row) =>
    row.from_m <= wavelength_m && (wavelength_m < row.to_m || row.to_m === longest_m) &&
    row.from_s <= exposure_time_s &&
    (exposure_time_s < row.to_s || (row.to_s === longest_s && longest_s === exposure_time_s)));
}

/** Return whether the limit for blue light would apply, which is not offered. */
export function is_blue_light(a: Exposure): boolean {
  return a.target === "eye" && a.wavelength_m < number("BLUE_LIGHT_BELOW") && a.exposure_time_s > number("LONG_FROM");
}

/** Return whether the directive's row below 1 ns would apply, which is not offered. */
export function is_too_short_for_edition(a: Exposure): boolean {
  return a.edition === EU_2006 && is_retinal(a) && a.exposure_time_s < number("RETINAL_2006_FROM");
}

/** Return whether a limit is offered: not for too short pulses, nor for long blue light. */
export function offered(a: Exposure): boolean {
  return !is_blue_light(a) && !is_too_short_for_edition(a) && rowOf(a) !== undefined;
}

/** Return whether the limit of one pulse of this length is a thermal one. */
export function is_thermal(a: Exposure): boolean {
  return rowOf(a)?.thermal ?? false;
}

/** Return whether what is protected is the retina. */
export function is_retinal(a: { wavelength_m: number; target: Target }): boolean {
  return a.target === "eye" && a.wavelength_m < number("RETINAL_TO");
}

/** Return whether the edition keeps a limit below that of the directive's own row. */
export function is_stricter_than_directive(a: Exposure): boolean {
  const [own, row] = [short_retinal_j_m2(a), rowOf(a)];
  if (a.edition !== EU_2006 || !is_retinal(a) || row === undefined || !Number.isFinite(own)) return false;
  return row.coefficient * a.exposure_time_s ** row.exponent < own;
}

/** Return the radiant exposure that one exposure of this length must not exceed [J/m2]. */
export function limit_fluence_j_m2(a: Exposure): number {
  const row = rowOf(a);
  if (row === undefined || is_too_short_for_edition(a)) throw new NotOffered("no limit is offered");
  const factor = row.factor === "C_A" ? c_a(a) : row.factor === "C_C" ? c_c(a) : 1;
  const coefficient = row.coefficient * factor;
  if (row.kind === "irradiance") return coefficient * a.exposure_time_s;
  const limit = coefficient * a.exposure_time_s ** row.exponent;
  return a.edition === EU_2006 && is_retinal(a) ? Math.min(limit, short_retinal_j_m2(a) * factor) : limit;
}

/** Return the mean irradiance that one exposure of this length must not exceed: H / t. */
export function limit_irradiance_w_m2(a: Exposure): number {
  return limit_fluence_j_m2(a) / a.exposure_time_s;
}

/** Return the limit for a large area of exposed skin and more than 10 s. */
export function large_area_irradiance_w_m2(a: { exposed_area_m2: number }): number {
  if (a.exposed_area_m2 >= number("LARGE_AREA_TO")) return number("LARGE_AREA_LEAST");
  return number("LARGE_AREA_POWER") / Math.max(a.exposed_area_m2, number("LARGE_AREA_FROM"));
}

/** Return the diameter over which an exposure is averaged. */
export function limiting_aperture_m(a: Exposure): number {
  if (a.target === "skin") return number("SKIN_APERTURE");
  if (a.wavelength_m < number("RETINAL_TO")) return number("EYE_APERTURE_VISIBLE");
  if (a.wavelength_m > number("EYE_APERTURE_UNTIL")) throw new NotOffered("no aperture is offered");
  const until_s = number(a.edition === EU_2006 ? "EYE_APERTURE_2006_SHORT_UNTIL" : "EYE_APERTURE_SHORT_UNTIL");
  if (a.exposure_time_s <= until_s) return number("EYE_APERTURE_SHORT");
  if (a.exposure_time_s < number("LONG_FROM")) {
    return number("EYE_APERTURE_GROWTH") * a.exposure_time_s ** number("EYE_APERTURE_GROWTH_EXPONENT");
  }
  return number("EYE_APERTURE_LONG");
}

/** Return the diameter over which the power of a beam is spread when it is judged. */
export function averaged_diameter_m(a: Exposure & { beam_diameter_m: number }): number {
  const aperture_m = limiting_aperture_m(a);
  const sharp = a.target === "skin" || a.exposure_time_s <= number("EYE_APERTURE_SHORT_UNTIL");
  const small = a.beam_diameter_m > 0 && a.beam_diameter_m < number("NOT_AVERAGED_BELOW");
  if (small && a.wavelength_m >= number("RETINAL_TO") && sharp) return a.beam_diameter_m;
  return Math.max(a.beam_diameter_m, aperture_m);
}
