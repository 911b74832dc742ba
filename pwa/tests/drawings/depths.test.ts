/** Bands of depth on a scale of decades; values by hand. */
import { describe, expect, it } from "vitest";
import { depthScale } from "../../src/parts/drawings/depth-shapes";
import { depthBandSentences } from "../../src/parts/drawings/depths";
import { depthBands } from "../../src/screens/plan/pictures";
import type { DoseResponse } from "../../src/session/dosing";
import { showLanguage } from "../../src/text";

const PULSE = { name: "pulse_depth", low_um: 10, high_um: 100 } as const;
const DAMAGE = { name: "thermal_damage", low_um: 75, high_um: 540 } as const;
const CUT = { name: "cut_depth", low_um: 1000, high_um: 1000 } as const;
const said = (sentences: string[]): string => sentences.join(" ").replace(/\u00a0/g, " ");

describe("the scale", () => {
  it("has a stretch for each decade, from 1 µm to the one that holds the deepest", () => {
    // 540 µm lies below 1000: three decades of 200 each; 10 to 100 µm is the second.
    const { rows, decades, height } = depthScale([PULSE, DAMAGE]);
    expect(decades.map(({ depth_um, x }) => [depth_um, x])).toEqual([[1, 0], [10, 200], [100, 400], [1000, 600]]);
    expect(rows[0]).toMatchObject({ x: 200, width: 200, y: 0 });
    expect(rows[1]!.x).toBeCloseTo(200 * Math.log10(75), 6);
    expect(height).toBe(128);
  });

  it("ends at a decade that is reached, and shows a band of no width", () => {
    const { rows, decades } = depthScale([CUT]);
    expect(decades).toHaveLength(4);
    expect(rows[0]).toMatchObject({ x: 600, width: 4 });
  });

  it("keeps what is less than 1 µm at its start", () => {
    expect(depthScale([{ ...PULSE, low_um: 0.2 }]).rows[0]!.x).toBe(0);
  });
});

describe("in words", () => {
  it("says each band, and what it is not", async () => {
    await showLanguage("en");
    expect(said(depthBandSentences([PULSE, CUT, DAMAGE]))).toBe(
      "One pulse: 10 µm to 0.1 mm. Cut: 1 mm. Thermal damage, measured: 75 µm to 0.54 mm. "
      + "Each stretch of the scale is ten times as deep as the one before it. "
      + "The thermal damage (broken rim) is what papers measured, not computed from these settings. "
      + "The cut is an ideal energy balance and not for judging the distance to bone, nerve, vessel or tooth.");
  });
});

it("takes the bands of what arrives, in micrometres", () => {
  const side = { pulse_depth: { low: 5, high: 9, unit: "um" }, cut_depth: { low: 0.5, high: 0.6, unit: "mm" }, average_power: { value: 4, unit: "W" } };
  const dose = { set: {}, delivered: side };
  expect(depthBands({ dose } as unknown as DoseResponse)).toEqual([
    { name: "pulse_depth", low_um: 5, high_um: 9 }, { name: "cut_depth", low_um: 500, high_um: 600 },
  ]);
});
