/** Reading what people type and stepping it. Expected values by hand. */
import { describe, expect, it } from "vitest";
import { readNumber } from "../src/parts/number";
import { addSteps, sameSettings, split, stepped, withCheck } from "../src/session/settings";

describe("readNumber", () => {
  it.each([
    ["4.5", "4.5"], ["4,5", "4.5"], [" 12 ", "12"], [",5", "0.5"], [".5", "0.5"], ["007", "7"],
    ["0,125", "0.125"], ["1234,500", "1234.500"], ["1,50", "1.50"],
  ])("reads %j as %s", (typed, text) => {
    expect(readNumber(typed)).toEqual({ kind: "number", text });
  });

  it.each([["1,500", "1.500", "1500"], ["1.500", "1.500", "1500"], ["250,000", "250.000", "250000"]])(
    "asks about %j", (typed, decimal, thousands) => {
      expect(readNumber(typed)).toEqual({ kind: "ask", decimal, thousands });
    });

  it.each(["1,5,0", "4 W", "-3", "1e3", "x", ",", "4."])("does not guess at %j", (typed) => {
    expect(readNumber(typed).kind).toBe("unreadable");
  });
});

describe("steps", () => {
  it("adds decimal strings exactly and never goes below one step", () => {
    expect(addSteps("0.1", "0.1", 2)).toBe("0.3");
    expect(addSteps("4", "0.5", 1)).toBe("4.5");
    expect(addSteps("4.5", "0.5", 1)).toBe("5");
    expect(addSteps("0.5", "0.5", -1)).toBe("0.5");
  });

  it("changes one value and leaves the rest", () => {
    const before = { wavelength: "10.6 um", emission: { mode: "continuous", power: "4.0 W" } };
    expect(stepped(before, "power", 1).emission).toEqual({ mode: "continuous", power: "4.5 W" });
    expect(before.emission.power).toBe("4.0 W");
  });

  it("compares by value, not by spelling", () => {
    const one = { wavelength: "10.6 um", emission: { mode: "pulsed", power: "4.0 W", pulse_duration: "400 us" } };
    const same = { wavelength: "10.6 um", emission: { mode: "pulsed", power: "4 W", pulse_duration: "400 µs" } };
    expect(sameSettings(one, same)).toBe(true);
    expect(sameSettings(one, { ...same, emission: { ...same.emission, power: "4.5 W" } })).toBe(false);
    expect(sameSettings(one, { ...same, emission: { ...same.emission, mode: "gated" } })).toBe(false);
    expect(split("4.5 W")).toEqual({ value: "4.5", unit: "W" });
  });

  it("takes an older check out where none applies", () => {
    const checked = { wavelength: "10.6 um", emission: {}, delivery: { verified_ratio: "0.93", loss: "0.5 dB" } };
    expect(withCheck(checked, null).delivery).toEqual({ loss: "0.5 dB" });
    expect(withCheck({ wavelength: "10.6 um", emission: {} }, null)).not.toHaveProperty("delivery");
  });
});
