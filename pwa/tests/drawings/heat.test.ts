/** Shapes and words of a simulation's curves; values by hand. */
import { afterEach, describe, expect, it } from "vitest";
import { type HeatCurves, overDepth, overTime } from "../../src/parts/drawings/heat-shapes";
import { depthSentences, timeSentences } from "../../src/parts/drawings/heat-words";
import { showLanguage } from "../../src/text";

const CURVES: HeatCurves = {
  times_s: [0, 0.05, 0.1], surface_cel: [37, 187, 87], valid_until_s: 0.07,
  depths_um: [0, 100, 1000], temperatures_cel: [87, 62, 37],
  residual_cel: [60, 75], removed_um: 1234, damage_um: 120, measured_um: [75, 540],
};
const said = (sentences: string[]): string => sentences.join(" ").replace(/\u00a0/g, " ");

afterEach(async () => void (await showLanguage("en")));

describe("over time", () => {
  it("stands from the body's temperature at the foot to the highest at the head", () => {
    // 600 wide for 0.1 s; 200 high for 37 to 187 °C: 87 °C is 200 (1 - 50/150) = 133.3 down.
    const curve = overTime(CURVES);
    expect(curve.inside).toBe("M0.0 200.0L300.0 0.0");
    expect(curve.boiling_y).toBeCloseTo(200 * (1 - 63 / 150), 6);
  });

  it("is broken where it is outside validity, from the last point inside", () => {
    expect(overTime(CURVES).outside).toBe("M300.0 0.0L600.0 133.3");
    expect(overTime(CURVES).ends_x).toBeCloseTo(420, 6);
    const within = overTime({ ...CURVES, valid_until_s: 0.2 });
    expect(within).toMatchObject({ outside: "", ends_x: null });
    expect(within.inside).toBe("M0.0 200.0L300.0 0.0L600.0 133.3");
  });

  it("keeps room for the line of boiling when nothing boils", () => {
    // 110 °C at the head: 100 °C is 200 (1 - 63/73) down.
    const cool = overTime({ ...CURVES, surface_cel: [37, 40, 38] });
    expect(cool.boiling_y).toBeCloseTo(200 * (1 - 63 / 73), 6);
  });
});

describe("over time, of many pulses", () => {
  // A hundred pulses in 1 s: 137 °C at each start, 87 °C half way.
  const many = {
    ...CURVES, valid_until_s: 0.5,
    times_s: Array.from({ length: 200 }, (_, i) => (i + 1) / 200), surface_cel: Array.from({ length: 200 }, (_, i) => (i % 2 === 0 ? 137 : 87)),
  };

  it("draws the highest and the lowest, and says so", () => {
    const { inside, outside, two_lines } = overTime(many);
    expect(two_lines).toBe(true);
    expect(inside.match(/M/g)).toHaveLength(2);
    expect(outside.match(/M/g)).toHaveLength(2);
    // 200 high for 37 to 137 °C: the upper line at 0, the lower at 100.
    expect(new Set(inside.match(/ [\d.]+(?=[ML]|$)/g))).toEqual(new Set([" 0.0", " 100.0"]));
    expect(said(timeSentences(many))).toContain("the highest and the lowest temperatures are drawn");
  });
});

describe("over depth", () => {
  it("is as wide as the measured band, and holds it beside the damage", () => {
    // 1.1 x 540 = 594, up to the next hundred: 600 µm on 600 units.
    const curve = overDepth(CURVES);
    expect(curve).toMatchObject({ deepest_um: 600, damage_x: 120, measured_x: [75, 540] });
    expect(curve.line.startsWith("M0.0 ")).toBe(true);
    expect(curve.line).not.toContain("1000");
  });

  it("widens for deeper damage", () => {
    expect(overDepth({ ...CURVES, damage_um: 900 }).deepest_um).toBe(1000);
  });
});

describe("in words", () => {
  it("says what the curves show", () => {
    expect(said(timeSentences(CURVES))).toBe(
      "Highest temperature of the surface: 187 °C. After 0.1 s: 87 °C. Left just before the last pulse: 75 °C. Removed if the spot stayed on this one place: 1.23 mm. "
      + "Later than 70 ms heat spreads sideways too: broken line, outside validity.");
    expect(said(depthSentences(CURVES))).toBe(
      "The damage integral reaches 1 down to 0.12 mm below the surface that is left. "
      + "Measured in oral tissue: 75 µm to 0.54 mm, shaded. Read the simulation beside it, never in its place.");
  });

  it("says so where nothing happened", () => {
    const cool = { ...CURVES, removed_um: 0, damage_um: 0, residual_cel: [], valid_until_s: 1 };
    expect(said([...timeSentences(cool), ...depthSentences(cool)])).toContain("87 °C. Nothing is removed. The damage integral stays below 1.");
    expect(said(timeSentences(cool))).not.toContain("outside");
  });

  it("says it in Spanish with a decimal comma", async () => {

    await showLanguage("es");
    expect(said(timeSentences(CURVES))).toContain("en este único lugar: 1,23 mm.");
  });
});
