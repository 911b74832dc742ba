// How far a beam is above its limit; see api/dose/hazard/distances.py. Diameters and divergences
// are 63 % (1/e) unless said.

/** Return how far a freely spreading beam is above its limit: (sqrt(4 A / pi) - a) / phi. */
export function direct_distance_m(
  a: { hazard_area_m2: number; beam_diameter_m: number; full_divergence_rad: number },
): number {
  return Math.max(0, (Math.sqrt(4 * a.hazard_area_m2 / Math.PI) - a.beam_diameter_m) / a.full_divergence_rad);
}

/** Return how far beyond its focus a focused beam is above its limit: (f / b) sqrt(4 A / pi). */
export function lens_distance_m(
  a: { hazard_area_m2: number; focal_length_m: number; beam_diameter_at_lens_m: number },
): number {
  return a.focal_length_m / a.beam_diameter_at_lens_m * Math.sqrt(4 * a.hazard_area_m2 / Math.PI);
}

/** Return how far from a tip (1/e2) the beam is above its limit: 8 A / (pi d(r)^2) = 1. */
export function tip_distance_m(
  a: { hazard_area_m2: number; tip_diameter_m: number; full_divergence_rad: number },
): number {
  const spread_m = Math.sqrt(8 * a.hazard_area_m2 / Math.PI) - a.tip_diameter_m;
  return Math.max(0, spread_m / (2 * Math.tan(a.full_divergence_rad / 2)));
}

/** Return how far from a matt surface the light is above its limit: sqrt(rho A cos(theta) / pi). */
export function diffuse_distance_m(
  a: { hazard_area_m2: number; reflectance: number; angle_rad: number },
): number {
  return Math.sqrt(a.reflectance * a.hazard_area_m2 * Math.max(0, Math.cos(a.angle_rad)) / Math.PI);
}
