/** From what is typed on the plan screen to the request, and back. */
import { describe, expect, it } from "vitest";
import { compose, emptyForm, fromSettings, type PlanForm, withHandpiece, withMode } from "../../src/screens/plan/form";
import { quantity, stepping, type ValueName } from "../../src/screens/plan/values";
import { doseOf } from "../../src/session/dosing";
import type { Handpiece, Settings } from "../../src/session/types";

const typed = (values: Partial<Record<ValueName, string>>, rest: Partial<PlanForm> = {}): PlanForm => {
  const form = { ...emptyForm(), mode: "continuous", ...rest };
  for (const [name, text] of Object.entries(values) as [ValueName, string][]) {
    const [raw, unit] = text.split("|");
    form.values = { ...form.values, [name]: { raw: raw!, unit: unit ?? form.values[name].unit } };
  }
  return form;
};

describe("the spot of the request", () => {
  it.each([
    ["diameter", { spot: "0,25" }, { diameter: "0.25 mm", diameter_definition: "1/e2" }],
    ["lens", { focal_length: "100", beam_diameter_at_lens: "6", beam_quality_m2: "1.1", defocus: "0" },
      { focal_length: "100 mm", beam_diameter_at_lens: "6 mm", beam_quality_m2: "1.1", defocus: "0 mm" }],
    ["waist", { waist_diameter: "200|um", beam_quality_m2: "1", defocus: "2,5" }, { waist_diameter: "200 um", beam_quality_m2: "1", defocus: "2.5 mm" }],
    ["bore", { bore_diameter: "0.4", distance: "1", full_divergence: "80" }, { bore_diameter: "0.4 mm", distance: "1 mm", full_divergence: "80 mrad" }],
    ["bore", { bore_diameter: "0.4", distance: "1" }, { bore_diameter: "0.4 mm", distance: "1 mm" }],
  ] as const)("stated by %s", (spot_form, values, spot) => {
    const composed = compose(typed({ power: "3", ...values }, { spot_form }), null);
    expect(composed.missing).toEqual({});
    expect(composed.settings.spot).toEqual(spot);
    // And back: the same form of spot, and the same request.
    const again = fromSettings(emptyForm(), composed.settings);
    expect(again.spot_form).toBe(spot_form);
    expect(compose(again, null).settings.spot).toEqual(spot);
  });

  it("is left out while any part of it is missing or in doubt", () => {
    const half = compose(typed({ power: "3", focal_length: "100", beam_diameter_at_lens: "1,500" }, { spot_form: "lens" }), null);
    expect(half.settings.spot).toBeUndefined();
    expect(Object.keys(half.missing).sort()).toEqual(["beam_diameter_at_lens", "beam_quality_m2", "defocus"]);
    expect(half.complete).toBe(false);
  });

  it("takes nothing of the handpiece before", () => {
    const lens: Handpiece = {
      handpiece_id: "1", device_id: "d", label: "", kind: "", spot_diameter: "0.25 mm", diameter_definition: "1/e2", spot_known: "label", working_distance: null,
      optics: { focal_length: "100 mm", beam_diameter_at_lens: "6 mm", beam_quality_m2: "1.1" },
    };
    const plain: Handpiece = { ...lens, handpiece_id: "2", spot_diameter: "0.4 mm", optics: null };
    const first = withHandpiece(emptyForm(), lens);
    expect([first.spot_form, quantity(first, "focal_length"), quantity(first, "spot")]).toEqual(["diameter", "100 mm", "0.25 mm"]);
    const second = withHandpiece(first, plain);
    expect([quantity(second, "focal_length"), quantity(second, "spot")]).toEqual([null, "0.4 mm"]);
  });

  it("survives a form that an older version kept", () => {
    const { focal_length: _gone, ...older } = emptyForm().values;
    const form = { ...emptyForm(), mode: "continuous", values: older, spot_form: undefined } as unknown as PlanForm;
    expect(compose(form, null).missing).toHaveProperty("spot");
  });
});

describe("the uncertainty of the spot", () => {
  it("goes into the request, and back", () => {
    const composed = compose(typed({ power: "3", spot: "0.25", spot_uncertainty: "5" }), null);
    expect(composed.settings.uncertainty).toEqual({ "spot.diameter": "5 %" });
    expect(compose(fromSettings(emptyForm(), composed.settings), null).settings.uncertainty).toEqual({ "spot.diameter": "5 %" });
  });

  it("gives the fluence twice its relative spread: E = 4 P / (pi d^2)", () => {
    // 3 W on 0.25 mm: 6111.55 W/cm2. Two standard uncertainties of 5 % of d, counted twice: 20 %.
    const outcome = doseOf(compose(typed({ power: "3", spot: "0.25", spot_uncertainty: "5" }), null).settings);
    const found = outcome.ok ? outcome.response.intervals.set["irradiance_mean"] : undefined;
    expect(found).toMatchObject({ unit: "W/cm2" });
    const { low, high } = found as { low: number; high: number };
    expect(low / 6111.55).toBeCloseTo(0.8, 4);
    expect(high / 6111.55).toBeCloseTo(1.2, 4);
  });

  it("is not stated where nobody states it", () => {
    const outcome = doseOf(compose(typed({ power: "3", spot: "0.25" }), null).settings);
    expect(outcome.ok && outcome.response.intervals.set["irradiance_mean"]).toBe("not stated");
  });
});

describe("the panel's values", () => {
  it("take a unit that was typed behind the number", () => {
    const form = typed({ power: "500 mW", spot: "0.25" });
    expect(compose(form, null).settings.emission["power"]).toBe("500 mW");
  });

  it("do not go in while they are asked about", () => {
    const composed = compose(typed({ power: "1,500", spot: "0.25" }), null);
    expect(composed.settings.emission).not.toHaveProperty("power");
    expect(composed.complete).toBe(false);
  });
});

describe("steps", () => {
  // By hand from the table of steps in values.ts.
  it.each([
    ["spot", "0.25", "0.2", "0.3"], ["spot", "1", "0.9", "1.1"], ["spot", "0.05", null, "0.1"], ["spot", "", null, "0.05"],
    ["defocus", "0", null, "0.5"], ["defocus", "0.3", "0", "0.8"], ["defocus", "0.5", "0", "1"], ["defocus", "2", "1.5", "2.5"], ["defocus", "", null, "0"],
    ["beam_quality_m2", "1", null, "1.1"], ["beam_quality_m2", "1.05", "1", "1.15"], ["beam_quality_m2", "", null, "1"],
    ["power", "3", "2.5", "3.5"], ["power", "0,9", "0.8", "1"], ["pulse_duration", "250|us", "200", "300"], ["full_divergence", "80", "75", "85"],
    ["spot", "250|um", "200", "300"],
  ] as const)("of %s at %j lead to %s and %s", (name, text, less, more) => {
    const got = stepping(typed({ [name]: text }), name)!;
    expect([got.less, got.more]).toEqual([less, more]);
  });

  it.each(["1,500", "x", "4."])("lead nowhere from %j", (text) => {
    expect(stepping(typed({ power: text }), "power")).toBeNull();
  });
});

it("carries values of a preset that have no field", () => {
  const settings: Settings = { wavelength: "10.6 um", emission: { mode: "pulsed", power: "3 W", power_kind: "average", duty_cycle: "0.03", repetition_rate: "120 Hz" } };
  expect(compose(fromSettings(emptyForm(), settings), null).settings.emission).toEqual(settings.emission);
});

it("does not ask about a preset's own three decimals", () => {
  const settings: Settings = { wavelength: "10.6 um", emission: { mode: "continuous", power: "1.125 W" }, spot: { diameter: "1.250 mm", diameter_definition: "1/e2" } };
  expect(compose(fromSettings(emptyForm(), settings), null)).toMatchObject({ complete: true, settings });
});

describe("another emission", () => {
  const pulsed = () => typed({ power: "4.5", pulse_duration: "400|us", repetition_rate: "140" }, { mode: "pulsed", power_kind: "average" });

  it("takes nothing along that the new one does not show at once", () => {
    const gated = withMode(pulsed(), "gated");
    expect(compose(gated, null).settings.emission).toEqual({ mode: "gated", power: "4.5 W", power_kind: "average" });
  });

  it("is found again as it was left by whoever comes back", () => {
    const there = withMode(pulsed(), "gated");
    const gated = { ...there, values: { ...there.values, gate_on: { raw: "20", unit: "ms" }, power: { raw: "5", unit: "W" } } };
    const back = compose(withMode(gated, "pulsed"), null).settings.emission;
    expect(back).toEqual({ mode: "pulsed", power: "5 W", power_kind: "average", pulse_duration: "400 us", repetition_rate: "140 Hz" });
    expect(compose(withMode(withMode(gated, "continuous"), "gated"), null).settings.emission["gate_on"]).toBe("20 ms");
  });
});
