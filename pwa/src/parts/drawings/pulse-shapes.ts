/** From an emission's times and powers to shapes: what the beam does over time, to scale. */
import { cycleOf, type Emission, repeated, type Stretch, timeline, TOLERANCE } from "./pulse-times";

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
  shown_s: number;
  /** The gate's open times, on the same axis. */
  gates: { x: number; width: number }[];
  pulses_per_gate: number | null;
  /** How many pulses stand in the picture, and how many a break mark stands for. */
  pulses_shown: number;
  pulses_left_out: number;
  to_scale: boolean;
}

/** A stretch of time and a power that two pictures share. */
export interface TrainFrame { shown_s: number; high_w: number | null }

const WIDTH = 600;
const HEIGHT = 180;
const HEAD = 24;
const FOOT = 20;
/** A stretch narrower than this cannot be seen as a stretch. */
const LEAST_UNITS = 2;
/** What a stretch gets that is drawn out of scale, and what the shortest gets then. */
const CUT_UNITS = 56;
const BRIEF_UNITS = 14;
const MOST_PULSES = 60;

/** Lay out what the beam does over a few periods, or over the time of `frame`; null where the times are not known. */
export function pulseTrain(emission: Emission, frame: TrainFrame | null = null): PulseTrain | null {
  const cycle = cycleOf(emission);
  if (!cycle) return null;
  const line = frame ? repeated(emission, cycle, frame.shown_s) : timeline(emission, cycle, roomFor(emission));
  const laid = layOut(line.stretches);
  const end = laid[laid.length - 1]!;
  const room = HEIGHT - HEAD - FOOT;
  const base_y = HEIGHT - FOOT;
  const { peak_power_w: peak, average_power_w: average } = emission;
  const high = frame?.high_w ?? peak ?? average;
  const y = (power: number | null) => (power === null || high === null ? null : base_y - room * power / high);
  const at = (s: number): number => {
    const inside = laid.find((one) => s <= one.to_s * (1 + TOLERANCE)) ?? end;
    return inside.x + inside.width * Math.min(1, Math.max(0, (s - inside.from_s) / (inside.to_s - inside.from_s)));
  };
  return {
    width: WIDTH, height: HEIGHT, base_y, stretches: laid, peak_y: y(peak), average_y: y(average), shown_s: end.to_s,
    gates: line.gates.map(({ from_s, to_s }) => ({ x: at(from_s), width: at(to_s) - at(from_s) })),
    pulses_per_gate: line.pulses_per_gate, pulses_shown: line.pulses_shown, pulses_left_out: line.pulses_left_out,
    to_scale: laid.every((one) => !one.cut),
  };
}

/** How many pulses of a gate may be drawn one by one. */
function roomFor({ pulse_duration_s, gate_on_s }: Emission): number {
  const seen = pulse_duration_s !== null && gate_on_s !== null && pulse_duration_s / gate_on_s * (WIDTH - CUT_UNITS) >= LEAST_UNITS;
  return seen ? MOST_PULSES : 0;
}

/**
 * What two or more pictures must show to be of one scale; null where their times differ too much to
 * be drawn so. A continuous beam fits any.
 */
export function trainFrame(emissions: readonly Emission[]): TrainFrame | null {
  const shown_s = Math.max(0, ...emissions.map((one) => pulseTrain(one)?.shown_s ?? 0));
  const powers = emissions.map((one) => one.peak_power_w ?? one.average_power_w);
  const high_w = powers.includes(null) ? null : Math.max(...powers as number[]);
  const fit = emissions.every((one) => {
    const cycle = cycleOf(one);
    if (!cycle) return true;
    const least = Math.min(...repeated(one, cycle, cycle.length_s).stretches.map((part) => part.to_s - part.from_s));
    return least * WIDTH / shown_s >= LEAST_UNITS;
  });
  return fit ? { shown_s, high_w } : null;
}

/**
 * To scale if every stretch can be seen. Otherwise to scale but for the last pause; otherwise every
 * stretch that would take too much is cut. What is cut is marked as cut.
 */
function layOut(stretches: readonly Stretch[]): Laid[] {
  const lengths = stretches.map((one) => one.to_s - one.from_s);
  const leftOut = stretches.some((one) => one.left_out !== undefined);
  const seen = (scale: number, some: readonly number[]) => !leftOut && some.every((length) => length * scale >= LEAST_UNITS);
  const whole = WIDTH / sum(lengths);
  if (seen(whole, lengths)) return place(stretches, lengths.map((length) => ({ width: length * whole, cut: false })));
  const first = lengths.slice(0, -1);
  const before = (WIDTH - CUT_UNITS) / sum(first);
  if (stretches.length > 2 && stretches.at(-1)?.on === false && seen(before, first)) {
    return place(stretches, lengths.map((length, i) => (i < first.length ? { width: length * before, cut: false } : { width: CUT_UNITS, cut: true })));
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

function place(stretches: readonly Stretch[], sizes: readonly { width: number; cut: boolean }[]): Laid[] {
  let x = 0;
  return stretches.map(({ on, from_s, to_s }, i) => {
    const placed = { on, from_s, to_s, x, ...sizes[i]! };
    x += sizes[i]!.width;
    return placed;
  });
}

const sum = (lengths: readonly number[]): number => lengths.reduce((so_far, one) => so_far + one, 0);
