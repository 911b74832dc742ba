// What falls on the tissue: irradiance, fluence, and the track of a moving spot; see
// api/dose/exposure.py.
import { number } from "./constants";
import { requireAboveZero } from "./ranges";

/** Return the irradiance averaged over the spot: E = 4 P / (pi d^2). */
export function irradiance_mean_w_m2(a: { power_w: number; spot_diameter_m: number }): number {
  requireAboveZero(a);
  return 4 * a.power_w / (Math.PI * a.spot_diameter_m * a.spot_diameter_m);
}

/** Return the irradiance in the centre of a Gaussian spot: E0 = 8 P / (pi d^2). */
export function irradiance_peak_w_m2(a: { power_w: number; spot_diameter_m: number }): number {
  requireAboveZero(a);
  return 8 * a.power_w / (Math.PI * a.spot_diameter_m * a.spot_diameter_m);
}

/** Return the fluence of one pulse averaged over the spot: H = 4 E / (pi d^2). */
export function fluence_mean_j_m2(a: { pulse_energy_j: number; spot_diameter_m: number }): number {
  requireAboveZero(a);
  return 4 * a.pulse_energy_j / (Math.PI * a.spot_diameter_m * a.spot_diameter_m);
}

/** Return the fluence of one pulse in the centre of a Gaussian spot: H0 = 8 E / (pi d^2). */
export function fluence_peak_j_m2(a: { pulse_energy_j: number; spot_diameter_m: number }): number {
  requireAboveZero(a);
  return 8 * a.pulse_energy_j / (Math.PI * a.spot_diameter_m * a.spot_diameter_m);
}

/** Return how long the spot takes to move by its own diameter: t = d / v. */
export function dwell_time_s(a: { spot_diameter_m: number; speed_m_s: number }): number {
  requireAboveZero(a);
  return a.spot_diameter_m / a.speed_m_s;
}

/** Return how many pulses fall on one place of the centre line: N = f d / v. */
export function pulses_per_spot(a: {
  repetition_rate_hz: number;
  spot_diameter_m: number;
  speed_m_s: number;
}): number {
  requireAboveZero(a);
  return a.repetition_rate_hz * a.spot_diameter_m / a.speed_m_s;
}

/** Return how much of its diameter a spot shares with the next: o = 1 - v / (f d). */
export function overlap(a: {
  repetition_rate_hz: number;
  spot_diameter_m: number;
  speed_m_s: number;
}): number {
  requireAboveZero(a);
  return 1 - a.speed_m_s / (a.repetition_rate_hz * a.spot_diameter_m);
}

/** Return the energy that falls on a length of the track: E' = P / v. */
export function line_energy_j_m(a: { power_w: number; speed_m_s: number }): number {
  requireAboveZero(a);
  return a.power_w / a.speed_m_s;
}

/** Return the fluence on the centre line of an even spot that moves: H = 4 P / (pi d v). */
export function track_fluence_mean_j_m2(a: {
  power_w: number;
  spot_diameter_m: number;
  speed_m_s: number;
}): number {
  requireAboveZero(a);
  return 4 * a.power_w / (Math.PI * a.spot_diameter_m * a.speed_m_s);
}

/** Return the fluence on the centre line of a Gaussian spot that moves: H = sqrt(2/pi) P / (w v). */
export function track_fluence_peak_j_m2(a: {
  power_w: number;
  spot_diameter_m: number;
  speed_m_s: number;
}): number {
  requireAboveZero(a);
  return number("SQRT_TWO_OVER_PI") * a.power_w / (a.spot_diameter_m / 2 * a.speed_m_s);
}

/** Return the energy of a whole emission: E = P t. */
export function total_energy_j(a: { power_w: number; emission_time_s: number }): number {
  requireAboveZero(a);
  return a.power_w * a.emission_time_s;
}
