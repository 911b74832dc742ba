/**
 * A straight line through the checks of a drift: how fast, and between when and when it arrives. Pure;
 * mirror of `api/devices/trend_line.py`, where the sources stand.
 */
import { mean } from "./charts";

const Z = 1.959963984540054;
const LEAST_POINTS = 5;

/** The slope a day with its 95 % interval; between which days, counted as the times are, it meets a level. */
export interface Line { slope: number; slope_low: number; slope_high: number; meets: [number, number] | null }

/** A line by least squares; null where its slope says nothing. */
export function fit(days: readonly number[], values: readonly number[], level: number): Line | null {
  const count = days.length;
  if (count < LEAST_POINTS) return null;
  const middle = mean(days);
  const height = mean(values);
  const spread = mean(days.map((day) => (day - middle) * (day - middle))) * count;
  if (spread === 0) return null;
  const slope = mean(days.map((day, n) => (day - middle) * (values[n]! - height))) * count / spread;
  const off = days.map((day, n) => values[n]! - height - slope * (day - middle));
  const variance = mean(off.map((one) => one * one)) * count / (count - 2);
  const reach = studentsT(count - 2);
  const half = reach * Math.sqrt(variance / spread);
  if (Math.abs(slope) <= half) return null;
  const meets = meeting(level - height, slope, half, variance * reach * reach / count, days[count - 1]! - middle);
  return { slope, slope_low: slope - half, slope_high: slope + half, meets: meets && [middle + meets[0], middle + meets[1]] };
}

/** The 0.975 quantile of Student's t for 3 or more degrees of freedom. */
export function studentsT(n: number): number {
  const z2 = Z * Z;
  const first = Z * (z2 + 1) / 4;
  const second = Z * (5 * z2 * z2 + 16 * z2 + 3) / 96;
  const third = Z * (3 * z2 * z2 * z2 + 19 * z2 * z2 + 17 * z2 - 15) / 384;
  const fourth = Z * (79 * z2 * z2 * z2 * z2 + 776 * z2 * z2 * z2 + 1482 * z2 * z2 - 1920 * z2 - 945) / 92160;
  return Z + first / n + second / (n * n) + third / (n * n * n) + fourth / (n * n * n * n);
}

/** Times from the middle between which gap = slope t ± sqrt(at_middle + half² t²). */
function meeting(gap: number, slope: number, half: number, at_middle: number, newest: number): [number, number] | null {
  // The line itself is beyond the level already, or leads away from it.
  if (gap / slope <= newest) return null;
  const a = slope * slope - half * half;
  const root = Math.sqrt(gap * gap * half * half + a * at_middle);
  const ends = [(gap * slope - root) / a, (gap * slope + root) / a].sort((one, other) => one - other);
  return [Math.max(ends[0]!, newest), ends[1]!];
}
