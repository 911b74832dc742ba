// How a beam narrows and widens: a thin lens, a waist, the end of a hollow waveguide. Equations,
// validity and sources stand in api/dose/optics.py; names and arguments are the same.
import { number } from "./constants";
import {
  requireAboveZero, requireBelowHalfTurn, requireNotNegative, requireOneOrMore,
} from "./ranges";

export interface Waist {
  waist_diameter_m: number;
  beam_quality_m2: number;
  wavelength_m: number;
}

export interface AtLens {
  beam_diameter_m: number;
  focal_length_m: number;
  beam_quality_m2: number;
  wavelength_m: number;
}

/** Distance from the waist at which a beam is sqrt 2 times as wide [m]. */
export function rayleigh_range_m(a: Waist): number {
  const { waist_diameter_m, beam_quality_m2, wavelength_m } = a;
  requireAboveZero({ waist_diameter_m, wavelength_m });
  requireOneOrMore({ beam_quality_m2 });
  return Math.PI * waist_diameter_m * waist_diameter_m / (4 * beam_quality_m2 * wavelength_m);
}

/** Angle between the axis and the 1/e2 radius far from the waist [rad]. */
export function half_divergence_rad(a: Waist): number {
  const { waist_diameter_m, beam_quality_m2, wavelength_m } = a;
  requireAboveZero({ waist_diameter_m, wavelength_m });
  requireOneOrMore({ beam_quality_m2 });
  return 2 * beam_quality_m2 * wavelength_m / (Math.PI * waist_diameter_m);
}

/** Length over which the beam is at most sqrt 2 times as wide as its waist [m]. */
export function depth_of_focus_m(a: { rayleigh_range_m: number }): number {
  requireAboveZero(a);
  return 2 * a.rayleigh_range_m;
}

/** 1/e2 diameter of a beam at a distance from its waist [m]. */
export function diameter_at_defocus_m(a: {
  waist_diameter_m: number;
  rayleigh_range_m: number;
  defocus_m: number;
}): number {
  const { defocus_m, ...beam } = a;
  requireAboveZero(beam);
  requireNotNegative({ defocus_m });
  const widening = defocus_m / beam.rayleigh_range_m;
  return beam.waist_diameter_m * Math.sqrt(1 + widening * widening);
}

/** (zR_in / f)^2 of a beam whose waist is at the lens. */
function squaredRatio({ beam_diameter_m, focal_length_m, beam_quality_m2, wavelength_m }: AtLens): number {
  requireAboveZero({ beam_diameter_m, focal_length_m, wavelength_m });
  const incoming = { waist_diameter_m: beam_diameter_m, beam_quality_m2, wavelength_m };
  const ratio = rayleigh_range_m(incoming) / focal_length_m;
  return ratio * ratio;
}

/** 1/e2 diameter of the waist that a lens makes of a beam whose waist is at the lens [m]. */
export function waist_diameter_behind_lens_m(a: AtLens): number {
  return a.beam_diameter_m / Math.sqrt(1 + squaredRatio(a));
}

/** How far behind the lens that waist is [m]. */
export function waist_position_behind_lens_m(a: AtLens): number {
  const squared = squaredRatio(a);
  return a.focal_length_m * (squared / (1 + squared));
}

/** 1/e2 diameter of the lowest mode at the end of a hollow waveguide [m], a lower bound. */
export function tip_waist_diameter_m(a: { bore_diameter_m: number }): number {
  requireAboveZero(a);
  return number("HE11_WAIST_PER_BORE") * a.bore_diameter_m;
}

/** Rayleigh range of a beam whose divergence is stated [m]. */
export function rayleigh_range_from_divergence_m(a: {
  waist_diameter_m: number;
  full_divergence_rad: number;
}): number {
  const { waist_diameter_m, full_divergence_rad } = a;
  requireAboveZero({ waist_diameter_m, full_divergence_rad });
  requireBelowHalfTurn({ full_divergence_rad });
  return waist_diameter_m / (2 * Math.tan(full_divergence_rad / 2));
}

/** Half angle of a stated full divergence [rad]. */
export function half_of_full_divergence_rad(a: { full_divergence_rad: number }): number {
  requireAboveZero(a);
  requireBelowHalfTurn(a);
  return a.full_divergence_rad / 2;
}
