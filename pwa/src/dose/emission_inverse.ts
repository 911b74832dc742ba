// The relations of emission.ts, solved for their other members; see api/dose/emission_inverse.py.
import { requireAboveZero } from "./ranges";

/** Return how many pulses a second a period means: f = 1 / T. */
export function repetition_rate_hz(a: { pulse_period_s: number }): number {
  requireAboveZero(a);
  return 1 / a.pulse_period_s;
}

/** Return the repetition rate from the duty cycle: f = D / tau. */
export function repetition_rate_from_duty_hz(a: {
  duty_cycle: number;
  pulse_duration_s: number;
}): number {
  requireAboveZero(a);
  return a.duty_cycle / a.pulse_duration_s;
}

/** Return the pulse duration from the duty cycle: tau = D / f. */
export function pulse_duration_from_duty_s(a: {
  duty_cycle: number;
  repetition_rate_hz: number;
}): number {
  requireAboveZero(a);
  return a.duty_cycle / a.repetition_rate_hz;
}

/** Return the repetition rate from power and energy: f = P / E. */
export function repetition_rate_from_energy_hz(a: {
  average_power_w: number;
  pulse_energy_j: number;
}): number {
  requireAboveZero(a);
  return a.average_power_w / a.pulse_energy_j;
}

/** Return the pulse energy from the average power: E = P / f. */
export function pulse_energy_from_average_j(a: {
  average_power_w: number;
  repetition_rate_hz: number;
}): number {
  requireAboveZero(a);
  return a.average_power_w / a.repetition_rate_hz;
}

/** Return the peak power of a pulse: P_peak = E / (k tau). */
export function peak_power_w(a: {
  pulse_energy_j: number;
  pulse_duration_s: number;
  shape_factor: number;
}): number {
  requireAboveZero(a);
  return a.pulse_energy_j / (a.shape_factor * a.pulse_duration_s);
}

/** Return the pulse duration from energy and peak power: tau = E / (k P_peak). */
export function pulse_duration_s(a: {
  pulse_energy_j: number;
  peak_power_w: number;
  shape_factor: number;
}): number {
  requireAboveZero(a);
  return a.pulse_energy_j / (a.shape_factor * a.peak_power_w);
}

/** Return the peak power from the average power: P_peak = P / (k D). */
export function peak_power_from_average_w(a: {
  average_power_w: number;
  duty_cycle: number;
  shape_factor: number;
}): number {
  requireAboveZero(a);
  return a.average_power_w / (a.shape_factor * a.duty_cycle);
}

/** Return the duty cycle from both powers: D = P / (k P_peak). */
export function duty_cycle_from_powers(a: {
  average_power_w: number;
  peak_power_w: number;
  shape_factor: number;
}): number {
  requireAboveZero(a);
  return a.average_power_w / (a.shape_factor * a.peak_power_w);
}
