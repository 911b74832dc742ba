import { afterEach, describe, expect, it } from "vitest";
import { respond } from "../src/dose/evaluate";
import { respond as hazardOf } from "../src/dose/hazard/evaluate";
import { conditions, CONSTANTS, constantsInFormulas, FORMULAS } from "../src/dose/provenance";
import { citations } from "../src/parts/citations";
import { conditionText, constantText, siText } from "../src/parts/constant-text";
import { english } from "../src/text/en";
import { spanish } from "../src/text/es";
import { showLanguage } from "../src/text";

const slots = (text: string): string[] => [...text.matchAll(/\{([^}]*)\}/g)].map(([, name]) => name!).sort();

describe("what numbers rest on", () => {
  afterEach(() => showLanguage("en"));

  it("has words for every condition, and none besides", () => {
    expect(Object.keys(english.provenance.valid).sort()).toEqual(conditions().sort());
  });

  it("names the same constants in both languages, and only ones that there are", () => {
    for (const [code, words] of Object.entries(english.provenance.valid)) {
      expect(slots(spanish.provenance.valid[code]!), code).toEqual(slots(words));
      expect(slots(words).filter((name) => !(name in CONSTANTS)), code).toEqual([]);
    }
  });

  it("has words for every constant in a formula, and none besides", () => {
    expect(Object.keys(english.provenance.constant).sort()).toEqual(constantsInFormulas().sort());
  });

  it("has words for every status, of formulas, constants and sources", () => {
    const used = [...Object.values(FORMULAS), ...Object.values(CONSTANTS), ...Object.values(citations)].map(({ status }) => status);
    expect(new Set(used)).toEqual(new Set(Object.keys(english.provenance.statuses)));
  });

  it("reads the whole bibliography", () => {
    for (const { source } of Object.values(CONSTANTS)) expect(citations[source]?.text.length, source).toBeGreaterThan(5);
    expect(citations["walsh1989"]!.text).toMatch(/^Walsh JT, .* CLEO\. .*memory\.$/);
  });

  it("knows the formula of every number of an answer", () => {
    const tissue = { kind: "oral mucosa" };
    const spots = [{ diameter: "0.2 mm", diameter_definition: "fwhm" }, { bore_diameter: "0.25 mm", distance: "1 mm" },
      { focal_length: "100 mm", beam_diameter_at_lens: "6 mm", beam_quality_m2: "1.2", defocus: "1 mm" }];
    const emissions = [{ mode: "continuous", power: "4 W" },
      { mode: "pulsed", pulse_energy: "33 mJ", repetition_rate: "140 Hz", pulse_duration: "400 us" },
      { mode: "gated", power: "4 W", power_kind: "peak", gate_on: "20 ms", gate_off: "80 ms", pulse_duration: "300 us", repetition_rate: "130 Hz" }];
    for (const spot of spots) for (const emission of emissions) {
      const { dose } = respond({ wavelength: "10.6 um", emission, spot, motion: { speed: "5 mm/s" }, emission_time: "9 s", tissue, delivery: { loss: "0.5 dB" } } as never);
      for (const result of [dose.set, dose.delivered!].flatMap((side) => Object.values(side) as ({ formula?: string } | null)[])) {
        const formula = result?.formula ?? "given";
        if (formula !== "given") expect(FORMULAS, formula).toHaveProperty([formula]);
      }
    }
    const { results } = hazardOf({ wavelength: "10.6 um", exposure_time: "10 s", emission: { power: "20 W" }, lens: { focal_length: "100 mm", beam_diameter: "6 mm", diameter_definition: "1/e2" } });
    for (const { formula } of Object.values(results)) expect(FORMULAS, formula).toHaveProperty([formula]);
  });

  // By hand: 1.06e-5 m, 5e-4 s, 3.74e6 J/kg, 1.15e4 J/m2, 4.8e9 J/m3 in the units of a page.
  it.each([
    [1.06e-5, "m", "10.6\u00a0µm"], [0.007, "m", "7\u00a0mm"], [5e-4, "s", "0.5\u00a0ms"], [0.35, "s", "0.35\u00a0s"], [1e-9, "s", "1\u00a0ns"], [1.8e-5, "s", "18\u00a0µs"], [0.005, "J/m^2", "0.005\u00a0J/m²"], [3.74e6, "J/kg", "3740\u00a0J/g"],
    [1.15e4, "J/m^2", "1.15\u00a0J/cm²"], [4.8e9, "J/m3", "4.8\u00a0kJ/cm³"], [0.00039, "W", "0.39\u00a0mW"], [0.643562, "1", "0.643562"], [0.01, "m^2", "100\u00a0cm²"],
  ])("writes %d %s as %s", (value, unit, text) => {
    expect(siText(value, unit)).toBe(text);
  });

  it("puts the constants into the conditions, in the language shown", async () => {
    expect(conditionText("short_pulses")).toBe("pulses below 0.5\u00a0ms at 10.6\u00a0µm, for which the threshold was measured");
    expect(constantText(CONSTANTS["limits"]!)).toBe("table");
    await showLanguage("es");
    expect(conditionText("measured_line")).toMatch(/, 10[.,]6\u00a0µm$/);
  });
});
