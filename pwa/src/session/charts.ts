/**
 * Control charts of single values: individuals, EWMA and CUSUM. Pure; mirror of `api/devices/charts.py`,
 * where the sources stand.
 */

const RANGE_PER_SIGMA = 1.128;
export const INDIVIDUALS_WIDTH = 3;
export const EWMA_WEIGHT = 0.2;
export const EWMA_WIDTH = 2.962;
/** In standard deviations. */
export const CUSUM_SLACK = 0.5;

/** The EWMA after a value, between the limits that hold for so many values. */
export interface Smoothed { z: number; low: number; high: number }
/** Both sides of a CUSUM after a value, 0 or more, in the unit of the values. */
export interface Sums { high: number; low: number }

/** The mean; NaN for no values. */
export const mean = (values: readonly number[]): number => values.reduce((total, value) => total + value, 0) / values.length;

/** The standard deviation by the mean moving range of two; NaN for fewer than two values. */
export const sigmaOfRanges = (values: readonly number[]): number =>
  mean(values.slice(1).map((value, n) => Math.abs(value - values[n]!))) / RANGE_PER_SIGMA;

interface EwmaBy { target: number; sigma: number; weight?: number; width?: number }

/** The exponentially weighted moving average after each value, with exact limits for so many of them. */
export function ewma(values: readonly number[], { target, sigma, weight = EWMA_WEIGHT, width = EWMA_WIDTH }: EwmaBy): Smoothed[] {
  let z = target;
  let kept = 1;
  return values.map((value) => {
    z = weight * value + (1 - weight) * z;
    kept = kept * (1 - weight) * (1 - weight);
    const half = width * sigma * Math.sqrt(weight / (2 - weight) * (1 - kept));
    return { z, low: target - half, high: target + half };
  });
}

/** The two one-sided cumulative sums after each value, both beginning at 0; `slack` in the unit of the values. */
export function cusum(values: readonly number[], { target, slack }: { target: number; slack: number }): Sums[] {
  let high = 0;
  let low = 0;
  return values.map((value) => {
    high = Math.max(0, high + (value - target - slack));
    low = Math.max(0, low + (target - slack - value));
    return { high, low };
  });
}
