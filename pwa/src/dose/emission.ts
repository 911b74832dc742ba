// What a laser emits: the relations between powers, energy and time of a pulse train. Equations,
// validity and sources stand in api/dose/emission.py; names and arguments are the same.
import { number } from "./constants";
import { BadInput } from "./errors";
import { requireAboveZero } from "./ranges";

export const PULSE_SHAPES = ["rectangular", "triangular", "gaussian", "exponential"] as const;
export type PulseShape = (typeof PULSE_SHAPES)[number];

/** Energy of a pulse of this shape over peak power times duration [1]. */
export function shape_factor(a: { pulse_shape: string }): number {
  if (!(PULSE_SHAPES as readonly string[]).includes(a.pulse_shape)) {
    const text = `pulse_shape is '${a.pulse_shape}'`;
    throw new BadInput("unknown_shape", text, { pulse_shape: [text] });
  }
  return a.pulse_shape === "gaussian" ? number("GAUSSIAN_PULSE_FACTOR") : 1;
}

/** Start of one pulse to the start of the next [s]. */
export function pulse_period_s(a: { repetition_rate_hz: number }): number {
  requireAboveZero(a);
  return 1 / a.repetition_rate_hz;
}

/** Part of the time that pulses take [1]. */
export function duty_cycle(a: { pulse_duration_s: number; repetition_rate_hz: number }): number {
  requireAboveZero(a);
  return a.pulse_duration_s * a.repetition_rate_hz;
}

/** Average power of an endless pulse train [W]. */
export function average_power_w(a: { pulse_energy_j: number; repetition_rate_hz: number }): number {
  requireAboveZero(a);
  return a.pulse_energy_j * a.repetition_rate_hz;
}

/** Energy of one pulse from its peak power [J]. */
export function pulse_energy_j(a: {
  peak_power_w: number;
  pulse_duration_s: number;
  shape_factor: number;
}): number {
  requireAboveZero(a);
  return a.shape_factor * a.peak_power_w * a.pulse_duration_s;
}

/** Average power of an endless pulse train from its peak power [W]. */
export function average_power_from_peak_w(a: {
  peak_power_w: number;
  duty_cycle: number;
  shape_factor: number;
}): number {
  requireAboveZero(a);
  return a.shape_factor * a.peak_power_w * a.duty_cycle;
}

/** Pause between two pulses [s], 0 where rounding would make it negative. */
export function off_time_s(a: { pulse_period_s: number; pulse_duration_s: number }): number {
  requireAboveZero(a);
  return Math.max(0, a.pulse_period_s - a.pulse_duration_s);
}

/** Peak power of an emission without pulses or pauses [W]. */
export function continuous_peak_power_w(a: { average_power_w: number }): number {
  requireAboveZero(a);
  return a.average_power_w;
}
