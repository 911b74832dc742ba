// Bursts: an emission that a gate opens and shuts. The train starts anew when each gate opens, a
// pulse due at the gate's end is not started, the one running then is cut; see api/dose/gates.py.
import { number } from "./constants";
import { requireAboveZero, requireNotNegative } from "./ranges";

interface Train {
  gate_on_s: number;
  repetition_rate_hz: number;
}

interface PulsesInGate extends Train {
  duty_cycle: number;
  pulse_shape: string;
}

function periodsPerGate(a: Train): { periods: number; tolerance: number } {
  const periods = a.gate_on_s * a.repetition_rate_hz;
  const scale = Math.max(1, periods / number("PULSES_HELD_EXACTLY"));
  return { periods, tolerance: number("PERIOD_TOLERANCE") * scale };
}

/** How many pulses start while a gate is open, at least 1. */
export function pulses_started_per_gate(a: Train): number {
  requireAboveZero({ gate_on_s: a.gate_on_s, repetition_rate_hz: a.repetition_rate_hz });
  const { periods, tolerance } = periodsPerGate(a);
  return Math.max(1, Math.ceil(periods - tolerance));
}

function roomInPeriods(a: Train): { started: number; room: number; tolerance: number } {
  const started = pulses_started_per_gate(a);
  const { periods, tolerance } = periodsPerGate(a);
  return { started, room: periods - (started - 1), tolerance };
}

function extentInDurations(pulseShape: string): number {
  if (pulseShape === "triangular") return number("TRIANGULAR_EXTENT");
  if (pulseShape === "gaussian") return number("GAUSSIAN_EXTENT");
  if (pulseShape === "exponential") return number("EXPONENTIAL_EXTENT");
  return 1;
}

/** How many pulses of a gate are not cut by its end. */
export function pulses_complete_per_gate(a: PulsesInGate): number {
  requireAboveZero({ duty_cycle: a.duty_cycle });
  const { started, room, tolerance } = roomInPeriods(a);
  const extent = Math.min(1, extentInDurations(a.pulse_shape) * a.duty_cycle);
  return room >= extent - tolerance ? started : started - 1;
}

/** A gate's energy over that of one complete pulse; null if a pulse not rectangular is cut. */
export function pulse_equivalents_per_gate(a: PulsesInGate): number | null {
  const complete = pulses_complete_per_gate(a);
  const { started, room } = roomInPeriods(a);
  if (complete === started) return started;
  if (a.pulse_shape !== "rectangular") return null;
  return started - 1 + room / a.duty_cycle;
}

/** Pulses of a gate open for a whole number of periods; null if it ends within one. */
export function whole_pulses_per_gate(a: Train): number | null {
  const { started, room, tolerance } = roomInPeriods(a);
  return room >= 1 - tolerance ? started : null;
}

/** Energy emitted while a gate is open [J]. */
export function gate_energy_j(a: { pulse_energy_j: number; pulse_equivalents: number }): number {
  requireAboveZero(a);
  return a.pulse_energy_j * a.pulse_equivalents;
}

/** Energy of one complete pulse from the energy of a gate [J]. */
export function pulse_energy_from_gate_j(a: {
  gate_energy_j: number;
  pulse_equivalents: number;
}): number {
  requireAboveZero(a);
  return a.gate_energy_j / a.pulse_equivalents;
}

/** Energy of a gate through which a continuous beam passes [J]. */
export function continuous_gate_energy_j(a: { peak_power_w: number; gate_on_s: number }): number {
  requireAboveZero(a);
  return a.peak_power_w * a.gate_on_s;
}

/** Power while the gate is open from the energy of a gate [W]. */
export function peak_power_from_gate_w(a: { gate_energy_j: number; gate_on_s: number }): number {
  requireAboveZero(a);
  return a.gate_energy_j / a.gate_on_s;
}

/** Average power over gate and pause [W]. */
export function overall_power_w(a: {
  gate_energy_j: number;
  gate_on_s: number;
  gate_off_s: number;
}): number {
  requireAboveZero({ gate_energy_j: a.gate_energy_j, gate_on_s: a.gate_on_s });
  requireNotNegative({ gate_off_s: a.gate_off_s });
  return a.gate_energy_j / (a.gate_on_s + a.gate_off_s);
}

/** Energy of a gate from the average power over gate and pause [J]. */
export function gate_energy_from_overall_j(a: {
  overall_power_w: number;
  gate_on_s: number;
  gate_off_s: number;
}): number {
  requireAboveZero({ overall_power_w: a.overall_power_w, gate_on_s: a.gate_on_s });
  requireNotNegative({ gate_off_s: a.gate_off_s });
  return a.overall_power_w * (a.gate_on_s + a.gate_off_s);
}
