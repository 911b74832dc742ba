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
}

/** The height of a temperature: the body's at the foot, the highest at the head, at least boiling. */
function heightOf(highest_cel: number): (cel: number) => number {
  const top = Math.max(highest_cel, BOILING_CEL * 1.1);
  return (cel) => HEIGHT * (1 - (cel - BODY_CEL) / (top - BODY_CEL));
}

function path(points: readonly (readonly [x: number, y: number])[]): string {
  return points.map(([x, y], i) => `${i === 0 ? "M" : "L"}${x.toFixed(1)} ${y.toFixed(1)}`).join("");
}

/** The surface over time. */
export function overTime({ times_s, surface_cel, valid_until_s }: HeatCurves): Curve {
  const last = times_s[times_s.length - 1] ?? 1;
  const height = heightOf(Math.max(...surface_cel));
  const points = times_s.map((time, i) => [WIDTH * time / last, height(surface_cel[i]!)] as const);
  const first = times_s.findIndex((time) => time > valid_until_s);
  const until = first < 0 ? points.length : first;
  return {
    inside: path(points.slice(0, until)),
    // From the last point inside, so that the line does not break off.
    outside: path(points.slice(Math.max(0, until - 1), first < 0 ? 0 : undefined)),
    boiling_y: height(BOILING_CEL),
    ends_x: valid_until_s < last ? WIDTH * valid_until_s / last : null,
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
