/** Reading what people type and stepping it. Expected values by hand. */
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { readNumber, readTyped } from "../src/parts/number";
import { addSteps, sameSettings, split, stepped, withCheck } from "../src/session/settings";

/** What each typing means is this project's own rule; the table is written by hand from it. */
const NBSP = "\u00a0", THIN = "\u2009", NARROW = "\u202f", MICRO = "\u00b5", MU = "\u03bc";

describe("readNumber", () => {
  it.each([
    ["4.5", "4.5"], ["4,5", "4.5"], [" 12 ", "12"], [",5", "0.5"], [".5", "0.5"], ["007", "7"],
    ["0,125", "0.125"], ["1234,500", "1234.500"], ["1,50", "1.50"], ["0", "0"], ["00,5", "0.5"],
    ["1 500", "1500"], [`1${NBSP}500`, "1500"], [`1${THIN}500,25`, "1500.25"],
    [`12${NARROW}000`, "12000"], ["\uff14\uff0e\uff15", "4.5"], ["\uff14\uff0c\uff15", "4.5"], ["\u30001.5\u3000", "1.5"],
  ])("reads %j as %s", (typed, text) => {
    expect(readNumber(typed)).toEqual({ kind: "number", text });
  });

  it.each([
    ["1,500", "1.500", "1500"], ["1.500", "1.500", "1500"], ["250,000", "250.000", "250000"],
    ["\uff11\uff0c\uff15\uff10\uff10", "1.500", "1500"],
  ])("asks about %j", (typed, decimal, thousands) => {
    expect(readNumber(typed)).toEqual({ kind: "ask", decimal, thousands });
  });

  it.each([
    ["400 us", "400", "us"], [`400 ${MICRO}s`, "400", "us"], [`400 ${MU}s`, "400", "us"], [`400${MICRO}s`, "400", "us"],
    ["0,4 ms", "0.4", "ms"], [`0.4${NBSP}ms`, "0.4", "ms"],
  ])("reads the unit behind %j", (typed, text, unit) => {
    expect(readNumber(typed, ["us", "ms"])).toEqual({ kind: "number", text, unit });
  });

  it("asks about thousands with a unit behind them, too", () => {
    expect(readNumber("1,500 W", ["W"])).toEqual({ kind: "ask", decimal: "1.500", thousands: "1500", unit: "W" });
  });

  // A metre is no millimetre, a megawatt no milliwatt, a mega-anything no micro-anything.
  it.each([["4 m", "m"], ["4 MM", "MM"], ["4 Mm", "Mm"], ["4 s", "s"], ["4 mm2", null], ["4 mm/s", "mm/s"]])(
    "takes no unit for another: %j", (typed, unit) => {
      expect(readNumber(typed, ["mm", "um"])).toEqual(unit === null ? { kind: "unreadable" } : { kind: "unit", unit });
    });

  it.each([
    "1,5,0", "1.500,5", "1,500.5", "1,500,000", "1.5.2", "4 W", "-3", "+3", "\u22123", "1e3", "1E3", "4.5e-4", "4,5 e3", "1e3 W", "x", "W",
    "1 5", "1 50", "15 00", "0 500", "1 500 00", "4 .5", "4. 5", "4\u00b2", "\u00bd", "4\u00bd", "1'500", "1\u00b75", "1_500", "0x10", "4O", "l5",
    "\u0664\u066b\u0665", "4\u200b5", "\u2160", "1/2", "3-5", "~4", "<4", "4%", "NaN", "Infinity", "1\u066b5",
  ])("does not guess at %j", (typed) => {
    expect(["unreadable", "unit"]).toContain(readNumber(typed).kind);
  });

  it.each([["."], [","], ["4."], ["4,"]])("waits for the rest of %j", (typed) => {
    expect(readNumber(typed).kind).toBe("unfinished");
  });

  it("takes nothing for something", () => {
    for (const blank of ["", " ", NBSP, "\u3000", "\t"]) expect(readNumber(blank)).toEqual({ kind: "empty" });
  });

  /** Whatever is typed, what is read is the digits that stand there, in their order. */
  it("never drops, adds or moves a digit", () => {
    const keys = fc.constantFrom(..."0123456789.,  eE-+wWmus\u00b5\u03bc\u00a0\uff15".split(""));
    fc.assert(fc.property(fc.array(keys, { maxLength: 12 }), (typed) => {
      const raw = typed.join("");
      const read = readNumber(raw, ["W", "us", "ms"]);
      if (read.kind !== "number") return;
      const digits = (text: string) => text.replace(/\uff15/g, "5").replace(/\D/g, "").replace(/^0+/, "");
      expect(digits(read.text)).toBe(digits(raw));
      const marks = raw.replace(/[^.,]/g, "");
      expect(read.text.includes(".")).toBe(marks.length === 1);
    }), { numRuns: 5000 });
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

describe("readTyped", () => {
  it("asks about what was typed, never about what stood there before", () => {
    expect(readTyped({ raw: "1.125", unit: "mm" })).toEqual({ kind: "ask", decimal: "1.125", thousands: "1125" });
    expect(readTyped({ raw: "1.125", unit: "mm", sure: true })).toEqual({ kind: "number", text: "1.125" });
  });

  it("knows the field's own unit", () => {
    expect(readTyped({ raw: "2 s", unit: "s" })).toEqual({ kind: "number", text: "2", unit: "s" });
  });
});
