import { describe, expect, it } from "vitest";
import { doseOf, refusals } from "../src/session/dosing";
import type { Device, Settings } from "../src/session/types";

const settings = (power: string): Settings => ({ wavelength: "10.6 um", emission: { mode: "continuous", power } });
const laser = (most: string): Device => ({ device_id: "laser", limits: { average_power: { max: most } } }) as unknown as Device;
const power = (of: Settings) => {
  const outcome = doseOf(of);
  return outcome.ok ? outcome.response.dose.set["average_power"]?.value : outcome.errors;
};

describe("the dose of settings, asked for again and again", () => {
  it("is worked out once for the same settings, whoever wrote them down", () => {
    const once = doseOf(settings("4 W"));
    expect(doseOf(settings("4 W"))).toBe(once);
    expect(power(settings("4 W"))).toBe(4);
  });

  it("is never that of others, however many were asked for between", () => {
    for (let n = 1; n <= 500; n += 1) expect(power(settings(`${n} mW`))).toBeCloseTo(n / 1000, 12);
    expect(power(settings("4 W"))).toBe(4);
    expect(power(settings("four"))).toHaveProperty(["emission.power"]);
    expect(power(settings("4 W"))).toBe(4);
  });

  it("keeps the limits of one laser from another's", () => {
    expect(Object.keys(refusals(settings("12 W"), laser("10 W")))).not.toEqual([]);
    expect(refusals(settings("12 W"), laser("20 W"))).toEqual({});
    expect(Object.keys(refusals(settings("12 W"), laser("10 W")))).not.toEqual([]);
  });
});
