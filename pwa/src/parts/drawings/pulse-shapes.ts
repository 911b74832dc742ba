/** From an emission's times and powers to shapes: what the beam does over time, to scale. */

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

/** A stretch of time in which the beam is on or off. */
export interface Stretch { on: boolean; from_s: number; to_s: number }

/** A stretch laid on the picture. Where `cut`, its length is not to scale. */
export interface Laid extends Stretch { x: number; width: number; cut: boolean }

export interface PulseTrain {
  width: number;
  height: number;
  base_y: number;
  stretches: Laid[];
  /** Height of the beam while it is on; null where the power is not known. */
  peak_y: number | null;
  average_y: number | null;
  /** Time shown, gate to gate, pulse to pulse. */
  shown_s: number;
  units_per_s: number;
  /** The gate's open times, on the same axis. */
  gates: { x: number; width: number }[];
  pulses_per_gate: number | null;
  /** How many pulses stand in the picture, and how many a break mark stands for. */
  pulses_shown: number;
  pulses_left_out: number;
  to_scale: boolean;
}

const WIDTH = 600;
const HEIGHT = 180;
const HEAD = 24;
const FOOT = 20;
/** A stretch narrower than this cannot be seen as a stretch. */
const LEAST_UNITS = 2;
/** What a stretch gets that is drawn out of scale. */
const CUT_UNITS = 56;
const BRIEF_UNITS = 14;
const TRAIN_PULSES = 3;
const MOST_PULSES = 60;
const TOLERANCE = 1e-9;

/** The pulses of one opening of the gate; the last one is cut off where the gate closes. */
export function gatedPulses({ pulse_duration_s, pulse_period_s, gate_on_s }: { pulse_duration_s: number; pulse_period_s: number; gate_on_s: number }): { started: number; last_s: number } {
  // A pulse due at the gate's end is not started (tolerance 1e-9 of a period).
  const started = Math.max(1, Math.ceil(gate_on_s / pulse_period_s - TOLERANCE));
  const left_s = gate_on_s - (started - 1) * pulse_period_s;
  return { started, last_s: Math.min(pulse_duration_s, left_s) };
}

type Part = Stretch & { left_out?: number };
interface Timeline { stretches: Part[]; gates: { from_s: number; to_s: number }[]; pulses_per_gate: number | null; shown: number; left_out: number }

/** Lay out what the beam does over a few periods; null where the times are not known. */
export function pulseTrain(emission: Emission): PulseTrain | null {
  const line = timeline(emission);
  if (!line) return null;
  const laid = layOut(line.stretches);
  const end = laid[laid.length - 1]!;
  const room = HEIGHT - HEAD - FOOT;
  const base_y = HEIGHT - FOOT;
  const { peak_power_w: peak, average_power_w: average } = emission;
  const high = peak ?? average;
  const y = (power: number | null) => (power === null || high === null ? null : base_y - room * power / high);
  const at = (s: number): number => {
    const inside = laid.find((one) => s <= one.to_s * (1 + TOLERANCE)) ?? end;
    const length = inside.to_s - inside.from_s;
    return inside.x + (length > 0 ? inside.width * Math.min(1, Math.max(0, (s - inside.from_s) / length)) : 0);
  };
  return {
    width: WIDTH, height: HEIGHT, base_y, stretches: laid, peak_y: y(peak), average_y: y(average),
    shown_s: end.to_s, units_per_s: scaleOf(laid),
    gates: line.gates.map(({ from_s, to_s }) => ({ x: at(from_s), width: at(to_s) - at(from_s) })),
    pulses_per_gate: line.pulses_per_gate, pulses_shown: line.shown, pulses_left_out: line.left_out,
    to_scale: laid.every((one) => !one.cut),
  };
}

function timeline(emission: Emission): Timeline | null {
  const { pulse_duration_s: on, pulse_period_s: period, gate_on_s: gate_on, gate_off_s: gate_off } = emission;
  const pulsed = on !== null && period !== null;
  if (gate_on === null) {
    if (!pulsed) return null;
    return { stretches: train(0, TRAIN_PULSES, on, period, on, true), gates: [], pulses_per_gate: null, shown: TRAIN_PULSES, left_out: 0 };
  }
  const cycle = gate_on + (gate_off ?? 0);
  if (!pulsed) {
    // Two openings, so that the pause between them is seen.
    const stretches = [0, cycle].flatMap((from) => [{ on: true, from_s: from, to_s: from + gate_on }, { on: false, from_s: from + gate_on, to_s: from + cycle }]);
    return { stretches: stretches.filter(lasts(cycle)), gates: [{ from_s: 0, to_s: gate_on }, { from_s: cycle, to_s: cycle + gate_on }], pulses_per_gate: null, shown: 0, left_out: 0 };
  }
  const { started, last_s } = gatedPulses({ pulse_duration_s: on, pulse_period_s: period, gate_on_s: gate_on });
  const pause = { on: false, from_s: gate_on, to_s: cycle };
  const inSight = started <= MOST_PULSES && on / gate_on * (WIDTH - CUT_UNITS) >= LEAST_UNITS;
  const last = (started - 1) * period;
  const tail = { on: false, from_s: last + last_s, to_s: gate_on };
  const shown = inSight ? started : Math.min(started, TRAIN_PULSES + 1);
  const pulses = inSight || started <= TRAIN_PULSES + 1
    ? train(0, started, on, period, last_s, false)
    : [
      ...train(0, TRAIN_PULSES, on, period, on, false),
      { on: false, from_s: (TRAIN_PULSES - 1) * period + on, to_s: last, left_out: started - shown },
      { on: true, from_s: last, to_s: last + last_s },
    ];
  return {
    stretches: [...pulses, tail, pause].filter(lasts(cycle)), gates: [{ from_s: 0, to_s: gate_on }],
    pulses_per_gate: started, shown, left_out: started - shown,
  };
}

/** What rounding leaves of a stretch that is not there is no stretch. */
const lasts = (whole_s: number) => (one: Stretch): boolean => one.to_s - one.from_s > TOLERANCE * whole_s;

function train(from_s: number, count: number, on: number, period: number, last: number, closed: boolean): Stretch[] {
  const stretches: Stretch[] = [];
  for (let i = 0; i < count; i += 1) {
    const start = from_s + i * period;
    const ends = start + (i === count - 1 ? last : on);
    stretches.push({ on: true, from_s: start, to_s: ends });
    if (i < count - 1 || closed) stretches.push({ on: false, from_s: ends, to_s: start + period });
  }
  return stretches.filter(lasts(period));
}

/**
 * To scale if every stretch can be seen. Otherwise to scale but for the last pause; otherwise every
 * stretch that would take too much is cut. What is cut is marked as cut.
 */
function layOut(stretches: readonly Part[]): Laid[] {
  const lengths = stretches.map((one) => one.to_s - one.from_s);
  const leftOut = stretches.some((one) => one.left_out !== undefined);
  const seen = (scale: number) => !leftOut && lengths.every((length) => length * scale >= LEAST_UNITS);
  const whole = WIDTH / sum(lengths);
  if (seen(whole)) return place(stretches, lengths.map((length) => ({ width: length * whole, cut: false })));
  const before = (WIDTH - CUT_UNITS) / sum(lengths.slice(0, -1));
  if (stretches.length > 2 && stretches.at(-1)?.on === false && seen(before)) {
    return place(stretches, lengths.map((length, i) => (i < lengths.length - 1 ? { width: length * before, cut: false } : { width: CUT_UNITS, cut: true })));
  }
  const shortest = Math.min(...lengths);
  const wanted = stretches.map((one, i) => {
    const width = lengths[i]! / shortest * BRIEF_UNITS;
    const cut = one.left_out !== undefined || width > CUT_UNITS;
    return { width: cut ? CUT_UNITS : width, cut };
  });
  const fit = WIDTH / sum(wanted.map(({ width }) => width));
  return place(stretches, wanted.map(({ width, cut }) => ({ width: width * fit, cut })));
}

function place(stretches: readonly Part[], sizes: readonly { width: number; cut: boolean }[]): Laid[] {
  let x = 0;
  return stretches.map(({ on, from_s, to_s }, i) => {
    const placed = { on, from_s, to_s, x, ...sizes[i]! };
    x += sizes[i]!.width;
    return placed;
  });
}

const sum = (lengths: readonly number[]): number => lengths.reduce((so_far, one) => so_far + one, 0);

function scaleOf(laid: readonly Laid[]): number {
  const true_ = laid.find((one) => !one.cut) ?? laid[0]!;
  return true_.width / (true_.to_s - true_.from_s);
}
