/** Two settings side by side. Expected ratios by hand. */
import { describe, expect, it } from "vitest";
import { MADE_FROM } from "../../src/parts/results";
import { factorText, inputRows, ratioOf, resultRows } from "../../src/screens/plan/comparison";
import { doseOf, type DoseResponse } from "../../src/session/dosing";
import type { Settings } from "../../src/session/types";

const NAMES = Object.keys(MADE_FROM);

function answer(settings: Settings): DoseResponse {
  const outcome = doseOf(settings);
  if (!outcome.ok) throw new Error(JSON.stringify(outcome.errors));
  return outcome.response;
}

const settings = (emission: Record<string, string>, rest: Partial<Settings> = {}): Settings => ({
  wavelength: "10.6 um", emission: { mode: "pulsed", power_kind: "average", ...emission },
  spot: { diameter: "0.25 mm", diameter_definition: "1/e2" }, ...rest,
});
const PLAIN = { power: "3 W", pulse_duration: "250 us", repetition_rate: "120 Hz" };

function ratios(a: Settings, b: Settings): Record<string, string> {
  return Object.fromEntries(resultRows(answer(a), answer(b), NAMES, "set", "").map(({ name, ratio }) =>
    [name, ratio.kind === "times" ? factorText(ratio.factor) : ratio.kind]));
}

describe("ratios", () => {
  it("of a spot twice as wide: a quarter of what falls on each square millimetre", () => {
    const wide = settings(PLAIN, { spot: { diameter: "0.5 mm", diameter_definition: "1/e2" } });
    expect(ratios(settings(PLAIN), wide)).toMatchObject({
      spot_diameter: "2", fluence_mean: "0.25", fluence_peak: "0.25", irradiance_mean: "0.25", pulse_irradiance_peak: "0.25",
      average_power: "same", pulse_energy: "same", peak_power: "same",
    });
  });

  it("of twice the rate at the same average power: half the pulse energy", () => {
    const fast = settings({ ...PLAIN, repetition_rate: "240 Hz" });
    expect(ratios(settings(PLAIN), fast)).toMatchObject({
      repetition_rate: "2", pulse_energy: "0.5", peak_power: "0.5", fluence_mean: "0.5", irradiance_mean: "same", duty_cycle: "2",
    });
  });

  it("of four times the power: four times of all that carries it", () => {
    expect(ratios(settings(PLAIN), settings({ ...PLAIN, power: "12 W" }))).toMatchObject({ average_power: "4", fluence_mean: "4", repetition_rate: "same" });
  });

  it.each([[2, 8, { kind: "times", factor: 4 }], [3, 3, { kind: "same" }], [3, 3 * (1 + 1e-12), { kind: "same" }], [0, 2, { kind: "none" }],
    [0, 0, { kind: "same" }], [-0.5, 0.5, { kind: "none" }], [null, 1, { kind: "none" }], [undefined, undefined, { kind: "none" }]])(
    "from %s to %s", (a, b, ratio) => { expect(ratioOf(a, b)).toEqual(ratio); });
});

describe("what one side lacks", () => {
  it("says why", () => {
    const moving = settings(PLAIN, { motion: { speed: "5 mm/s" } });
    const row = resultRows(answer(settings(PLAIN)), answer(moving), NAMES, "set", "").find(({ name }) => name === "line_energy")!;
    expect(row.a).toBeNull();
    expect(row.why_a).toBe("no speed is stated");
    expect(row.b?.value).toBeCloseTo(0.6, 12); // 3 W / 5 mm/s, in J/mm
    expect(row.ratio).toEqual({ kind: "none" });
  });

  it("says that there is no check, for what arrives", () => {
    const checked = settings(PLAIN, { delivery: { verified_ratio: "0.9", verified_at: "2026-11-20" } });
    const row = resultRows(answer(checked), answer(settings(PLAIN)), NAMES, "delivered", "not verified").find(({ name }) => name === "average_power")!;
    expect(row.a?.value).toBeCloseTo(2.7, 12);
    expect([row.b, row.why_b]).toEqual([null, "not verified"]);
  });

  it("keeps out what neither has", () => {
    expect(resultRows(answer(settings(PLAIN)), answer(settings(PLAIN)), NAMES, "set", "").map(({ name }) => name)).not.toContain("line_energy");
  });
});

describe("what differs", () => {
  it("is compared by value and unit, not by spelling", () => {
    expect(inputRows({ power: "3 W", pulse_duration: "250 us" }, { power: "3.0 W", pulse_duration: "0.25 ms" })).toEqual([]);
  });

  it("has a ratio where both are numbers", () => {
    expect(inputRows({ power: "3 W", mode: "pulsed" }, { power: "6 W", mode: "gated" })).toEqual([
      { name: "power", a: "3 W", b: "6 W", ratio: { kind: "times", factor: 2 } },
      { name: "mode", a: "pulsed", b: "gated", ratio: { kind: "none" } },
    ]);
  });

  it("names what only one has", () => {
    expect(inputRows({}, { speed: "5 mm/s" })).toEqual([{ name: "speed", a: null, b: "5 mm/s", ratio: { kind: "none" } }]);
  });
});
