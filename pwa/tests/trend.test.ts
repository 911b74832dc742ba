/** Charts and trends against what is printed and against the shared vectors. */
import { describe, expect, it } from "vitest";
import printed from "../../tests/vectors/charts.json";
import vectors from "../../tests/vectors/trend.json";
import { cusum, ewma, mean, sigmaOfRanges } from "../src/session/charts";
import { type Check, CUTS, POWER, type Restart, trendAlarm, trendOf } from "../src/session/trend";

interface Series {
  name: string; rules: string; checks: Check[]; restarts: Restart[];
  expected: {
    points: { check_id: string; part: number; role: string; z: number | null; signals: string[] }[];
    parts: { restart_id: string | null; settled: number; center: number | null; sigma: number | null }[];
    line: number[] | null;
    meaning: { code: string; direction: string | null; since: string | null; rate: number[] | null; reaches: number[] | null };
  };
}
const series = vectors.series as unknown as Series[];
const rules = { power: POWER, cuts: CUTS } as Record<string, typeof POWER>;

/** Every number within a part of itself; null only where null is expected. */
function near(found: readonly number[] | null, expected: readonly number[] | null, rel: number): void {
  expect(found === null).toBe(expected === null);
  for (const [n, one] of (expected ?? []).entries()) expect(Math.abs(found![n]! - one)).toBeLessThanOrEqual(rel * Math.abs(one));
}

describe("charts as printed", () => {
  it("smooths as NIST/SEMATECH e-Handbook 6.3.2.4 does", () => {
    const { x, z, z0, s, lambda, ucl, lcl, tolerance } = printed.ewma;
    const found = ewma(x, { target: z0, sigma: s, weight: lambda, width: 3 });
    for (const [n, one] of found.entries()) expect(Math.abs(one.z - z[n]!)).toBeLessThanOrEqual(0.00501);
    expect(Math.abs(found[found.length - 1]!.high - ucl)).toBeLessThan(tolerance);
    expect(Math.abs(found[found.length - 1]!.low - lcl)).toBeLessThan(tolerance);
    expect(found.every((one) => one.low <= one.z && one.z <= one.high)).toBe(!printed.ewma.signal);
  });

  it("adds up as NIST/SEMATECH e-Handbook 6.3.2.3 does", () => {
    const { x, mu, k, h, first_signal_sample, s_high_at_14 } = printed.cusum;
    const found = cusum(x, { target: mu, slack: k });
    expect(found.findIndex(({ high, low }) => Math.max(high, low) > h) + 1).toBe(first_signal_sample);
    expect(found[first_signal_sample - 1]!.high).toBeCloseTo(s_high_at_14, 2);
  });

  it("takes sigma from moving ranges", () => {
    // By hand: ranges 2, 1, 3.
    expect(sigmaOfRanges([4, 6, 5, 8])).toBeCloseTo(2 / 1.128, 12);
    expect(mean([1, 2, 6])).toBe(3);
  });
});

describe("a trend", () => {
  it("goes by the rules of the vectors", () => expect(rules).toEqual(vectors.rules));

  it.each(series.map((one) => [one.name, one] as const))("is worked out as the vectors say: %s", (_, one) => {
    for (const checks of [one.checks, [...one.checks].reverse()]) {
      const found = trendOf(checks, one.restarts, rules[one.rules]);
      const plain = ({ check, part, role, signals }: (typeof found.points)[number]) => ({ check_id: check.check_id, part, role, signals });
      expect(found.points.map(plain)).toEqual(one.expected.points.map(({ z: _z, ...rest }) => rest));
      for (const [n, { smoothed }] of found.points.entries()) {
        const z = one.expected.points[n]!.z;
        near(smoothed && [smoothed.z], z === null ? null : [z], 1e-9);
      }
      expect(found.parts.map(({ restart_id, settled }) => [restart_id, settled])).toEqual(one.expected.parts.map(({ restart_id, settled }) => [restart_id, settled]));
      for (const [n, part] of found.parts.entries()) {
        const { center, sigma } = one.expected.parts[n]!;
        near(part.center === null ? null : [part.center, part.sigma!], center === null ? null : [center, sigma!], 1e-9);
      }
      near(found.line, one.expected.line, 1e-9);
      const { rate, reaches, ...said } = found.meaning;
      const { rate: rate_expected, reaches: reaches_expected, ...expected } = one.expected.meaning;
      expect(said).toEqual(expected);
      // The series for Student's t that both programs use is within 0.2 % of scipy's.
      near(rate, rate_expected, 3e-3);
      near(reaches, reaches_expected, 2e-2);
    }
  });

  it("is an alarm only where somebody has to look", () => {
    for (const one of series) {
      const found = trendOf(one.checks, one.restarts, rules[one.rules]);
      expect(trendAlarm(found)).toEqual(["failed", "beyond", "drifting"].includes(one.expected.meaning.code) ? found.meaning : null);
    }
  });
});
