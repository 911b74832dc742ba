// How heat spreads, boils water and damages tissue. Equations, validity and sources stand in
// api/dose/heating.py; names and arguments are the same.
import { BadInput } from "./errors";
import { requireAboveZero, requireFraction } from "./ranges";

interface Warming {
  density_kg_m3: number;
  specific_heat_j_kg_k: number;
  rise_k: number;
}

interface Damage {
  log_frequency: number;
  activation_k: number;
}

/** How far heat spreads in a time [m]. */
export function diffusion_length_m(a: { diffusivity_m2_s: number; time_s: number }): number {
  requireAboveZero(a);
  return Math.sqrt(4 * a.diffusivity_m2_s * a.time_s);
}

/** Heat that warms a volume [J/m3]. */
export function sensible_heat_j_m3(a: Warming): number {
  const { density_kg_m3, specific_heat_j_kg_k, rise_k } = a;
  requireAboveZero({ density_kg_m3, specific_heat_j_kg_k, rise_k });
  return density_kg_m3 * specific_heat_j_kg_k * rise_k;
}

/** Heat that warms a volume to boiling and boils off all its water [J/m3]. */
export function drying_heat_j_m3(
  a: Warming & { water_fraction: number; latent_heat_j_kg: number },
): number {
  requireAboveZero({ latent_heat_j_kg: a.latent_heat_j_kg });
  requireFraction({ water_fraction: a.water_fraction });
  return sensible_heat_j_m3(a) + a.density_kg_m3 * a.water_fraction * a.latent_heat_j_kg;
}

/** How fast the damage integral grows [1/s]. */
export function damage_rate_per_s(a: Damage & { temperature_k: number }): number {
  requireAboveZero({ ...a });
  return Math.exp(a.log_frequency - a.activation_k / a.temperature_k);
}

/** Steady temperature at which the damage integral reaches 1 in a time [K]. */
export function damage_temperature_k(a: Damage & { time_s: number }): number {
  requireAboveZero({ ...a });
  const divisor = a.log_frequency + Math.log(a.time_s);
  if (divisor <= 0) {
    const text = `time_s is ${a.time_s}, too short`;
    throw new BadInput("out_of_range", text, { time_s: [text] });
  }
  return a.activation_k / divisor;
}
