// The editions of the limits, and the directive's own rows where the shared table differs; see
// api/dose/hazard/editions.py.
import { number } from "./constants";

export const ICNIRP_2013 = "ICNIRP 2013";
export const EU_2006 = "2006/25/EC";
export const EDITIONS = [ICNIRP_2013, EU_2006];

/** Return the directive's own limit of a short exposure of the retina, without correction [J/m2]. */
export function short_retinal_j_m2(a: { wavelength_m: number; exposure_time_s: number }): number {
  const [until_s, limit] = a.wavelength_m * 1e9 < number("C_A_FLAT_FROM")
    ? [number("RETINAL_2006_SHORT_UNTIL"), number("RETINAL_2006_SHORT")]
    : [number("RETINAL_2006_LONG_UNTIL"), number("RETINAL_2006_LONG")];
  return a.exposure_time_s < until_s ? limit : Infinity;
}
