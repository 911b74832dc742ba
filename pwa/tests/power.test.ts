/** A power check from its form: what it means, what it lacks, and when it counts. */
import { beforeEach, describe, expect, it } from "vitest";
import { meterFacts } from "../src/screens/register/meter-facts";
import { anotherSetting, type CheckForm, freshForm, judgeCheck, watts, withDelivery, withReading } from "../src/screens/power/form";
import { checkGroups, latestCheck, withOwn } from "../src/session/checks";
import { house } from "../src/session/house";
import type { Device, Verification } from "../src/session/types";
import { RULE } from "../src/session/verification";

const device: Device = {
  device_id: "laser", label: "Laser", maker: "Invented", model: "One", serial: "1", wavelength: "10.6 um",
  delivery_part: "articulated arm", modes: ["continuous", "pulsed"], limits: { average_power: { max: "10 W" } }, room_id: null,
};
const known = (event_id: string, verified_at: string, mode = "continuous"): Verification => ({
  verification_id: `v-${event_id}`, event_id, device_id: "laser", handpiece_id: "fine", mode, ratio: "0.9300", ratio_uncertainty: "0.0251",
  verdict: "warn", verified_at, verified_by: "dent",
  said: {
    device_id: "laser", handpiece_id: "fine", mode, meter: { label: "Thermal sensor", serial: "T-1", calibrated_on: "2026-03-02" },
    readings: [
      { settings: { emission: { mode, power: "4 W" } }, expected_average_power: "4 W", measured: ["3.7 W", "3.7 W", "3.7 W"] },
      { settings: { emission: { mode, power: "8 W" } }, expected_average_power: "8 W", measured: ["7.4 W", "7.4 W", "7.4 W"] },
    ],
    ratio: "0.9300", ratio_uncertainty: "0.0251", meter_uncertainty: "0.05", verdict: "warn", rule: RULE, note: null,
  },
});
const before = known("e1", "2026-11-01T09:00:00.000+01:00");
const typed = (raw: string, unit = "W") => ({ raw, unit });

function withReadings(form: CheckForm, readings: readonly (readonly string[])[]): CheckForm {
  return { ...form, settings: form.settings.map((one, n) => (readings[n] ?? []).reduce((kept, raw, at) => withReading(kept, at, typed(raw)), one)) };
}

beforeEach(() => { house.value = { ...house.value, verifications: [before], records: [] }; });

describe("a new check", () => {
  it("begins with the meter, and with the settings, of the last one", () => {
    const form = withDelivery(freshForm(device, [{ handpiece_id: "fine" }]), device, "fine", "continuous");
    expect(form).toMatchObject({ handpiece_id: "fine", label: "Thermal sensor", serial: "T-1", calibrated_on: "2026-03-02", uncertainty: { raw: "5", unit: "%" } });
    expect(judgeCheck(form, device).settings.map(({ expected_w }) => expected_w)).toEqual(["4", "8"]);
    expect(form.settings.every(({ shown }) => shown.length === 3 && shown.every(({ raw }) => raw === ""))).toBe(true);
  });

  const meter = { meter_id: "m", label: "Thermal sensor", serial: "T-1", status: "current", calibrated_on: "2026-03-02", due_on: null, uncertainty: null, certificate: null };
  it.each([
    ["as it was, where the register knows no more", {}, { serial: "T-1", calibrated_on: "2026-03-02", uncertainty: { raw: "5", unit: "%" } }],
    ["with its new certificate", { calibrated_on: "2026-11-20", uncertainty: "0.03" }, { serial: "T-1", calibrated_on: "2026-11-20", uncertainty: { raw: "3", unit: "%" } }],
    ["without an uncertainty that another certificate said", { calibrated_on: "2026-11-20" }, { serial: "T-1", calibrated_on: "2026-11-20", uncertainty: { raw: "" } }],
    ["not at all where it is retired", { status: "retired" }, { label: "", serial: "", calibrated_on: "", uncertainty: { raw: "" } }],
  ])("takes the meter of the last one from the register: %s", (_, more, begins) => {
    house.value = { ...house.value, documents: { ...house.value.documents, meter: [{ ...meter, ...more }] } };
    const begun = freshForm(device, []);
    house.value = { ...house.value, documents: {} };
    expect(begun).toMatchObject(begins);
  });

  it("asks for the uncertainty of a meter whose certificate does not say it", () => {
    // As it goes over what a form holds: another meter's 5 % may not stay behind.
    expect({ ...freshForm(device, []), ...meterFacts({ ...meter, serial: "T-2" }) }).toMatchObject({ serial: "T-2", uncertainty: { raw: "", unit: "%" } });
    expect(meterFacts({ ...meter, uncertainty: "0.025" }).uncertainty).toMatchObject({ raw: "2.5", unit: "%" });
  });

  it("asks for everything where nothing is known", () => {
    house.value = { ...house.value, verifications: [] };
    const form = freshForm(device, [{ handpiece_id: "fine" }, { handpiece_id: "wide" }]);
    expect(form).toMatchObject({ handpiece_id: "", mode: "", label: "", settings: [] });
    expect(judgeCheck(form, device)).toMatchObject({ lacks: "delivery", verified: null, payload: null });
  });

  it("keeps what was measured when another emission is chosen, and never its settings unseen", () => {
    const form = withReadings(withDelivery(freshForm(device, []), device, "fine", "continuous"), [["3.7"]]);
    const other = withDelivery(form, device, "fine", "pulsed");
    expect(other.settings[0]!.shown[0]!.raw).toBe("3.7");
    expect(other.settings.map(({ plan }) => plan.mode)).toEqual(["pulsed", "pulsed"]);
    expect(judgeCheck(other, device)).toMatchObject({ lacks: "settings", payload: null });
  });
});

describe("what a form means", () => {
  const form = () => withDelivery(freshForm(device, []), device, "fine", "continuous");

  it("is the check as it was worked out by hand", () => {
    // See tests/registers/test_verification.py: 0.92917, 0.025693.
    const { payload, lacks } = judgeCheck(withReadings(form(), [["3.7", "3.8", "3.7"], ["7.5", "7.4", "7.3"]]), device);
    expect(lacks).toBeNull();
    expect(payload).toEqual({
      device_id: "laser", handpiece_id: "fine", mode: "continuous", meter: { label: "Thermal sensor", serial: "T-1", calibrated_on: "2026-03-02" },
      readings: [
        { settings: { emission: { mode: "continuous", power: "4 W" } }, expected_average_power: "4 W", measured: ["3.7 W", "3.8 W", "3.7 W"] },
        { settings: { emission: { mode: "continuous", power: "8 W" } }, expected_average_power: "8 W", measured: ["7.5 W", "7.4 W", "7.3 W"] },
      ],
      ratio: "0.9292", ratio_uncertainty: "0.0257", meter_uncertainty: "0.05", verdict: "warn", rule: RULE, note: null,
    });
  });

  it("leaves out a setting that was not measured, and says that one alone is few", () => {
    const { payload, verified } = judgeCheck(withReadings(anotherSetting(form(), device), [["3.7", "3.8", "3.7"]]), device);
    expect(payload!.readings).toHaveLength(1);
    expect(verified!.remarks).toEqual(["too_few_settings"]);
  });

  it("reads milliwatts, and nothing at all where a laser gives none", () => {
    expect(watts("3700 mW")).toBe("3.7");
    expect(watts("5 mW")).toBe("0.005");
    expect(watts("0.5 mW")).toBe("0.0005");
    expect(judgeCheck(withReadings(form(), [["0"]]), device).payload).toMatchObject({ ratio: "0.0000", verdict: "fail" });
  });

  it.each([
    ["delivery", { handpiece_id: "" }], ["meter", { serial: " " }], ["calibrated", { calibrated_on: "" }],
    ["calibrated", { calibrated_on: "2199-01-01" }], ["uncertainty", { uncertainty: typed("", "%") }],
    ["uncertainty", { uncertainty: typed("1,500", "%") }], ["readings", {}],
  ] as const)("lacks %s where it does (%#)", (lack, part) => {
    expect(judgeCheck({ ...form(), ...part }, device)).toMatchObject({ lacks: lack, payload: null });
  });

  it("waits for what is doubtful", () => {
    expect(judgeCheck(withReadings(form(), [["3.7", "1,500"]]), device)).toMatchObject({ lacks: "readings", payload: null });
  });

  it("does not judge readings at a setting beyond the laser's limits", () => {
    const one = form();
    const beyond = { ...one, settings: one.settings.map((s) => ({ ...s, plan: { ...s.plan, values: { ...s.plan.values, power: typed("12") } } })) };
    expect(judgeCheck(withReadings(beyond, [["3.7"]]), device)).toMatchObject({ lacks: "settings", verified: null, payload: null });
  });

  it("always has one more empty line than was filled", () => {
    const [setting] = withReadings(form(), [["3.7", "3.8", "3.7"]]).settings;
    expect(setting!.shown.map(({ raw }) => raw)).toEqual(["3.7", "3.8", "3.7", ""]);
  });
});

describe("a check this tablet has made", () => {
  const made = (event_id: string, result: object | null = null, type = "verification.recorded") => ({
    body: { event_id, type, entity_id: `v-${event_id}`, occurred_at: "2026-11-20T09:00:00.000+01:00", actor_id: "dent" },
    payload: { ...before.said, ratio: "0.7000", verdict: "fail" }, result,
  }) as unknown as Parameters<typeof withOwn>[1][number];

  it("counts before the server has it, and once only when it has", () => {
    expect(withOwn([before], [made("e2")]).map(({ event_id }) => event_id)).toEqual(["e1", "e2"]);
    expect(withOwn([before, known("e2", "2026-11-20T09:00:00.000+01:00")], [made("e2", { outcome: "applied" })])).toHaveLength(2);
  });

  it("counts no longer where the server put it aside or refused it", () => {
    for (const outcome of ["quarantined", "rejected"]) expect(withOwn([before], [made("e2", { outcome })])).toEqual([before]);
    expect(withOwn([before], [made("e2", null, "device.registered")])).toEqual([before]);
  });

  it("is found by laser, tip and emission, the newest first", () => {
    house.value = { ...house.value, verifications: [before, known("e3", "2026-11-08T09:00:00.000+01:00"), known("e4", "2026-11-09T09:00:00.000+01:00", "pulsed")] };
    expect(latestCheck("laser", "fine", "continuous")!.event_id).toBe("e3");
    expect(latestCheck("laser", "wide", "continuous")).toBeNull();
    expect(checkGroups("laser").map((group) => group.map(({ event_id }) => event_id))).toEqual([["e3", "e1"], ["e4"]]);
  });
});
