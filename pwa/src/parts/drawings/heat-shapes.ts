/** From a simulation's curves to shapes: temperature over time, and over depth at the end. */

/** What is drawn of a simulation: times in s, depths in µm, temperatures in °C. */
export interface HeatCurves {
  times_s: readonly number[];
  surface_cel: readonly number[];
  /** Later is outside validity. */
  valid_until_s: number;
  depths_um: readonly number[];
  temperatures_cel: readonly number[];
  /** The temperature just before each pulse after the first. */
  residual_cel: readonly number[];
  removed_um: number;
  damage_um: number;
  /** What was measured in tissue, to be drawn beside it. */
  measured_um: readonly [number, number];
}

export const WIDTH = 600;
export const HEIGHT = 200;
const BODY_CEL = 37;
const BOILING_CEL = 100;

export interface Curve {
  /** The part inside validity, and the part outside. */
  inside: string;
  outside: string;
  /** Height of the boiling line. */
  boiling_y: number;
  /** Where validity ends, if within the picture. */
  ends_x: number | null;
  /** Whether the highest and the lowest are drawn instead of each pulse. */
  two_lines: boolean;
}

/** The height of a temperature: the body's at the foot, the highest at the head, at least boiling. */
function heightOf(highest_cel: number): (cel: number) => number {
  const top = Math.max(highest_cel, BOILING_CEL * 1.1);
  return (cel) => HEIGHT * (1 - (cel - BODY_CEL) / (top - BODY_CEL));
}

function path(points: readonly (readonly [x: number, y: number])[]): string {
  return points.map(([x, y], i) => `${i === 0 ? "M" : "L"}${x.toFixed(1)} ${y.toFixed(1)}`).join("");
}

/** More points than this are drawn as two lines: the highest and the lowest of each stretch of time. */
const SINGLE_LINE_AT_MOST = 150;
const STRETCHES = 75;

type Point = readonly [time_s: number, cel: number];

/** One line through few points; of many, the lines of the highest and of the lowest. */
function linesOf(points: readonly Point[]): Point[][] {
  if (points.length <= SINGLE_LINE_AT_MOST) return [[...points]];
  const last = points[points.length - 1]![0];
  const stretches = new Map<number, Point[]>();
  for (const point of points) {
    const place = Math.min(STRETCHES - 1, Math.floor(STRETCHES * point[0] / last));
    stretches.set(place, [...(stretches.get(place) ?? []), point]);
  }
  const extreme = (better: (one: number, other: number) => boolean): Point[] =>
    [...stretches.values()].map((some) => some.reduce((best, point) => (better(point[1], best[1]) ? point : best)));
  return [extreme((one, other) => one > other), extreme((one, other) => one < other)];
}

/** The surface over time. */
export function overTime({ times_s, surface_cel, valid_until_s }: HeatCurves): Curve {
  const last = times_s[times_s.length - 1] ?? 1;
  const height = heightOf(Math.max(...surface_cel));
  const lines = linesOf(times_s.map((time, i) => [time, surface_cel[i]!] as const));
  const drawn = (points: readonly Point[]): string => path(points.map(([time, cel]) => [WIDTH * time / last, height(cel)]));
  const split = (points: readonly Point[]): number => {
    const first = points.findIndex(([time]) => time > valid_until_s);
    return first < 0 ? points.length : first;
  };
  return {
    inside: lines.map((points) => drawn(points.slice(0, split(points)))).join(""),
    // From the last point inside, so that the line does not break off.
    outside: lines.map((points) => (split(points) < points.length ? drawn(points.slice(Math.max(0, split(points) - 1))) : "")).join(""),
    boiling_y: height(BOILING_CEL),
    ends_x: valid_until_s < last ? WIDTH * valid_until_s / last : null,
    two_lines: lines.length > 1,
  };
}

export interface DepthCurve {
  line: string;
  boiling_y: number;
  /** Depth at the right edge. */
  deepest_um: number;
  damage_x: number;
  measured_x: readonly [number, number];
}

/** Temperature below the surface at the end; wide enough for the measured band. */
export function overDepth(curves: HeatCurves): DepthCurve {
  const { depths_um, temperatures_cel, damage_um, measured_um } = curves;
  const deepest_um = Math.ceil(1.1 * Math.max(measured_um[1], damage_um) / 100) * 100;
  const height = heightOf(Math.max(...temperatures_cel));
  const x = (depth: number): number => WIDTH * depth / deepest_um;
  const shown = depths_um.map((depth, i) => [x(depth), height(temperatures_cel[i]!)] as const);
  return {
    line: path(shown.filter(([at]) => at <= WIDTH)),
    boiling_y: height(BOILING_CEL),
    deepest_um,
    damage_x: x(damage_um),
    measured_x: [x(measured_um[0]), x(measured_um[1])],
  };
}
