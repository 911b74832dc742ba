// What a beam may do in soft tissue. Equations, validity and sources stand in api/dose/tissue.py;
// names and arguments are the same.
import { number, WATER_EXTINCTION } from "./constants";
import { BadInput } from "./errors";
import { requireAbove, requireAboveZero, requireFraction, requireNotNegative } from "./ranges";

function notHeld(name: string, value: number, why: string): BadInput {
  const text = `${name} is ${value}, ${why}`;
  return new BadInput("out_of_range", text, { [name]: [text] });
}

/** Extinction coefficient k of water [1]. */
export function water_extinction_coefficient({ wavelength_m }: { wavelength_m: number }): number {
  for (const nodes of WATER_EXTINCTION) {
    for (let place = 0; place + 1 < nodes.length; place += 1) {
      const [left, kLeft] = nodes[place]!;
      const [right, kRight] = nodes[place + 1]!;
      if (wavelength_m >= left && wavelength_m <= right) {
        return kLeft + (kRight - kLeft) * ((wavelength_m - left) / (right - left));
      }
    }
  }
  throw notHeld("wavelength_m", wavelength_m, "no value is held");
}

/** Absorption coefficient that belongs to an extinction coefficient [1/m]. */
export function absorption_coefficient_per_m(a: {
  extinction_coefficient: number;
  wavelength_m: number;
}): number {
  requireAboveZero(a);
  return 4 * Math.PI * a.extinction_coefficient / a.wavelength_m;
}

/** Absorption coefficient of tissue if its water alone absorbs [1/m]. */
export function tissue_absorption_per_m(a: {
  water_absorption_per_m: number;
  water_fraction: number;
}): number {
  requireAboveZero({ water_absorption_per_m: a.water_absorption_per_m });
  requireFraction({ water_fraction: a.water_fraction });
  return a.water_fraction * a.water_absorption_per_m;
}

/** Depth at which 1/e of the irradiance is left [m]. */
export function absorption_depth_m(a: { absorption_per_m: number }): number {
  requireAboveZero(a);
  return 1 / a.absorption_per_m;
}

/** Part of the irradiance that is left at a depth [1]. */
export function remaining_fraction(a: { absorption_per_m: number; depth_m: number }): number {
  requireAboveZero({ absorption_per_m: a.absorption_per_m });
  requireNotNegative({ depth_m: a.depth_m });
  return Math.exp(-a.absorption_per_m * a.depth_m);
}

/** Thermal diffusivity [m2/s]. */
export function diffusivity_m2_s(a: {
  conductivity_w_m_k: number;
  density_kg_m3: number;
  specific_heat_j_kg_k: number;
}): number {
  requireAboveZero(a);
  return a.conductivity_w_m_k / (a.density_kg_m3 * a.specific_heat_j_kg_k);
}

/** Time in which a heated body loses most of its heat [s]; the factor names the geometry. */
export function relaxation_time_s(a: {
  size_m: number;
  diffusivity_m2_s: number;
  geometry_factor: number;
}): number {
  requireAboveZero(a);
  return a.size_m * a.size_m / (a.geometry_factor * a.diffusivity_m2_s);
}

/** A heat of a mass as the heat of its volume [J/m3]. */
export function volume_heat_j_m3(a: { density_kg_m3: number; heat_j_kg: number }): number {
  requireAboveZero(a);
  return a.density_kg_m3 * a.heat_j_kg;
}

/** Depth of one pulse if removal keeps pace with it [m]. */
export function steady_depth_m(a: {
  fluence_j_m2: number;
  threshold_j_m2: number;
  ablation_heat_j_m3: number;
}): number {
  requireAboveZero(a);
  requireAbove(a.threshold_j_m2, { fluence_j_m2: a.fluence_j_m2 });
  return (a.fluence_j_m2 - a.threshold_j_m2) / a.ablation_heat_j_m3;
}

/** Depth of one pulse if all tissue above the threshold leaves after it [m]. */
export function blow_off_depth_m(a: {
  fluence_j_m2: number;
  threshold_j_m2: number;
  absorption_per_m: number;
}): number {
  requireAboveZero(a);
  requireAbove(a.threshold_j_m2, { fluence_j_m2: a.fluence_j_m2 });
  return Math.log(a.fluence_j_m2 / a.threshold_j_m2) / a.absorption_per_m;
}

/** Depth of the cut that a moving spot makes if all its power removes tissue [m]. */
export function cut_depth_m(a: {
  power_w: number;
  spot_diameter_m: number;
  speed_m_s: number;
  ablation_heat_j_m3: number;
}): number {
  requireAboveZero(a);
  return a.power_w / (a.ablation_heat_j_m3 * a.spot_diameter_m * a.speed_m_s);
}

/** Depth of incision that a straight line through measurements gives, 3 to 10 W [m]. */
export function measured_trend_depth_m({ power_w }: { power_w: number }): number {
  if (!(power_w >= number("TREND_FROM") && power_w <= number("TREND_TO"))) {
    throw notHeld("power_w", power_w, "not measured");
  }
  return number("TREND_SLOPE") * power_w - number("TREND_OFFSET");
}
