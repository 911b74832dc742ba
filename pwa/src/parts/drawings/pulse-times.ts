/** What the beam does over time, as stretches of on and off. */

/** Times in s, powers in W. What is not known is null; a continuous beam has neither pulses nor gate. */
export interface Emission {
  peak_power_w: number | null;
  average_power_w: number | null;
  pulse_duration_s: number | null;
  pulse_period_s: number | null;
  pulse_shape: string;
  gate_on_s: number | null;
  gate_off_s: number | null;
}

/** A stretch of time in which the beam is on or off. Behind `left_out` stand pulses that are not drawn. */
export interface Stretch { on: boolean; from_s: number; to_s: number; left_out?: number }

export interface Timeline {
  stretches: Stretch[];
  gates: { from_s: number; to_s: number }[];
  pulses_per_gate: number | null;
  pulses_shown: number;
  pulses_left_out: number;
}

/** Relative; what rounding leaves of a stretch that is not there is no stretch. */
export const TOLERANCE = 1e-9;
const TRAIN_PERIODS = 3;
const GATES = 2;

/** The pulses of one opening of the gate; the last one is cut off where the gate closes. */
export function gatedPulses({ pulse_duration_s, pulse_period_s, gate_on_s }: { pulse_duration_s: number; pulse_period_s: number; gate_on_s: number }): { started: number; last_s: number } {
  // A pulse due at the gate's end is not started (tolerance 1e-9 of a period).
  const started = Math.max(1, Math.ceil(gate_on_s / pulse_period_s - TOLERANCE));
  const left_s = gate_on_s - (started - 1) * pulse_period_s;
  return { started, last_s: Math.min(pulse_duration_s, left_s) };
}

export interface Cycle { stretches: Stretch[]; length_s: number; started: number | null }

/** One period, or one opening of the gate with its pause; null where the times are not known. */
export function cycleOf(emission: Emission): Cycle | null {
  const { pulse_duration_s: on, pulse_period_s: period, gate_on_s: gate_on, gate_off_s } = emission;
  const pulsed = on !== null && period !== null;
  if (gate_on === null) return pulsed ? { stretches: train(1, on, period, on, period), length_s: period, started: null } : null;
  const length_s = gate_on + (gate_off_s ?? 0);
  if (!pulsed) return { stretches: train(1, gate_on, length_s, gate_on, length_s), length_s, started: null };
  const { started, last_s } = gatedPulses({ pulse_duration_s: on, pulse_period_s: period, gate_on_s: gate_on });
  const pause = { on: false, from_s: gate_on, to_s: length_s };
  return { stretches: [...train(started, on, period, last_s, gate_on), pause].filter(lasts(length_s)), length_s, started };
}

/** `count` pulses, the last one `last_s` long, and the dark up to `end_s`. */
function train(count: number, on_s: number, period_s: number, last_s: number, end_s: number): Stretch[] {
  return Array.from({ length: count }, (_, i) => i).flatMap((i) => {
    const from_s = i * period_s;
    const last = i === count - 1;
    const dark_s = from_s + (last ? last_s : on_s);
    return [{ on: true, from_s, to_s: dark_s }, { on: false, from_s: dark_s, to_s: last ? end_s : from_s + period_s }];
  }).filter(lasts(end_s));
}

const lasts = (whole_s: number) => (one: Stretch): boolean => one.to_s - one.from_s > TOLERANCE * whole_s;

/** How often a cycle begins within a time. */
const begins = (cycle: Cycle, shown_s: number): number[] =>
  Array.from({ length: Math.ceil(shown_s / cycle.length_s - TOLERANCE) }, (_, i) => i * cycle.length_s);

/** The cycle again and again for `shown_s`. */
export function repeated(emission: Emission, cycle: Cycle, shown_s: number): Timeline {
  const starts = begins(cycle, shown_s);
  const stretches = starts
    .flatMap((from) => cycle.stretches.map(({ on, from_s, to_s }) => ({ on, from_s: from + from_s, to_s: Math.min(shown_s, from + to_s) })))
    .filter(lasts(shown_s));
  const { gate_on_s } = emission;
  const gates = gate_on_s === null ? [] : starts.map((from_s) => ({ from_s, to_s: Math.min(shown_s, from_s + gate_on_s) }));
  const pulses_shown = cycle.started === null && gate_on_s !== null ? 0 : stretches.filter((one) => one.on).length;
  return { stretches, gates, pulses_per_gate: cycle.started, pulses_shown, pulses_left_out: 0 };
}

/** As much as is worth drawing; of more pulses in a gate than `room`, the first ones and the last. */
export function timeline(emission: Emission, cycle: Cycle, room: number): Timeline {
  const { started } = cycle;
  if (started === null) return repeated(emission, cycle, cycle.length_s * (emission.gate_on_s === null ? TRAIN_PERIODS : GATES));
  if (started <= Math.max(room, TRAIN_PERIODS + 1)) return repeated(emission, cycle, cycle.length_s);
  const left_out = started - TRAIN_PERIODS - 1;
  const ons = cycle.stretches.filter((one) => one.on);
  const head = cycle.stretches.slice(0, 2 * TRAIN_PERIODS - 1);
  const last = ons[ons.length - 1]!;
  const gap = { on: false, from_s: head[head.length - 1]!.to_s, to_s: last.from_s, left_out };
  return {
    stretches: [...head, gap, ...cycle.stretches.slice(cycle.stretches.indexOf(last))],
    gates: [{ from_s: 0, to_s: emission.gate_on_s! }], pulses_per_gate: started, pulses_shown: TRAIN_PERIODS + 1, pulses_left_out: left_out,
  };
}
