import { beforeAll, beforeEach, describe, expect, it } from "vitest";
import { readEvents } from "../src/outbox/read";
import { fold, type RecordDocument } from "../src/session/fold";
import { addNote, openCase, startPass, type OpenForm } from "../src/session/commands";
import { house } from "../src/session/house";
import { allRecords, ownRecords, person } from "../src/session/state";
import { clearTimer, running, startTimer } from "../src/session/timer";
import type { PassPlan, Verification } from "../src/session/types";
import { forgetWritten, readyToFold } from "../src/session/written";
import { freshTablet } from "./support/tablet";

const device = {
  device_id: "laser", label: "Laser", maker: "Invented", model: "One", serial: "1", wavelength: "10.6 um",
  delivery_part: "articulated arm", modes: ["continuous", "pulsed"], limits: {}, room_id: null,
};
const tip = (handpiece_id: string) => ({
  handpiece_id, device_id: "laser", label: handpiece_id, kind: "focusing handpiece", spot_diameter: "0.25 mm",
  diameter_definition: "1/e2", spot_known: "label", working_distance: null,
});
const check = (handpiece_id: string, ratio: string, verdict = "ok", verified_at = "2026-11-24T10:00:00.000+01:00"): Verification => ({
  verification_id: `v-${handpiece_id}-${ratio}`, event_id: `e-${handpiece_id}-${ratio}`, device_id: "laser", handpiece_id,
  mode: "continuous", ratio, ratio_uncertainty: null, verdict, verified_at, verified_by: null, said: {} as Verification["said"],
});
const form: OpenForm = {
  chart_number: "1", second_identifier: "AB", procedure: { procedure_kind_id: null, text: "Frenum", code: null }, site: "upper",
  indication: "tie", why_laser: null, operator_id: "dent", supervising_id: null, assistant_ids: [], others_present: null, room: null, consent: null,
  anaesthesia: null, alerts_reviewed: true, device_id: "laser", handpiece_id: "fine", mode: "continuous",
};
const plan = (handpiece_id: string, mode = "continuous"): PassPlan => ({
  device_id: "laser", handpiece_id, preset: null, preset_settings: null, spot_known: "label", focus: "focused", coolant: "none",
  distance: null,
  settings: {
    wavelength: "10.6 um", emission: { mode, power: "4 W", ...(mode === "pulsed" ? { power_kind: "average", pulse_duration: "300 us", repetition_rate: "100 Hz" } : {}) },
    spot: { diameter: "0.25 mm", diameter_definition: "1/e2" },
  },
});

beforeAll(readyToFold);

async function record(): Promise<RecordDocument> {
  return fold(await readEvents());
}

beforeEach(async () => {
  await freshTablet();
  forgetWritten();
  person.value = { person_id: "dent", display_name: "D", initials: "D", roles: ["clinician"] };
  house.value = { ...house.value, devices: [device], handpieces: [tip("fine"), tip("broad")], verifications: [check("fine", "0.93")], records: [] };
  await openCase(form);
});

describe("the check behind a pass", () => {
  it("is that of the record's own tip and mode", async () => {
    await startPass(await record(), plan("fine"));
    const [pass] = (await record()).passes;
    expect(pass?.dose.basis).toBe("verified");
    // 4 W at a ratio of 0.93.
    expect(pass?.dose.delivered?.["average_power"]).toBeCloseTo(3.72, 12);
  });

  it("is never that of another mode", async () => {
    await startPass(await record(), plan("fine", "pulsed"));
    expect((await record()).passes[0]?.dose.delivered).toBeNull();
  });

  it("is none once a later one failed", async () => {
    house.value = { ...house.value, verifications: [check("fine", "0.93"), check("fine", "0.60", "fail", "2026-11-25T09:00:00.000+01:00")] };
    await startPass(await record(), plan("fine"));
    expect((await record()).passes[0]?.dose.delivered).toBeNull();
  });

  it("is that of the tip in hand, once it is changed in the case", async () => {
    house.value = { ...house.value, verifications: [check("fine", "0.93"), check("broad", "0.80")] };
    await startPass(await record(), plan("fine"));
    await startPass(await record(), plan("broad"));
    await startPass(await record(), plan("fine"));
    const { passes } = await record();
    expect(passes.map((one) => one.handpiece?.handpiece_id)).toEqual(["fine", "broad", "fine"]);
    expect(passes.map((one) => one.verification?.ratio)).toEqual(["0.93", "0.80", "0.93"]);
    // 4 W at each tip's own ratio.
    const delivered = passes.map((one) => one.dose.delivered?.["average_power"]);
    expect(delivered[0]).toBeCloseTo(3.72, 12);
    expect(delivered[1]).toBeCloseTo(3.2, 12);
    expect(delivered[2]).toBeCloseTo(3.72, 12);
  });

  it("is none for a tip that was never checked", async () => {
    await startPass(await record(), plan("broad"));
    const [pass] = (await record()).passes;
    expect(pass?.verification).toBeNull();
    expect(pass?.dose.delivered).toBeNull();
  });

  it("cannot be had with another laser than the record names", async () => {
    await expect(startPass(await record(), { ...plan("fine"), device_id: "second" })).rejects.toMatchObject({ code: "other_device" });
    expect((await record()).passes).toEqual([]);
  });
});

describe("what is read back", () => {
  it("holds an own entry that the server's copy, as long as ours, does not know", async () => {
    const own = ownRecords.value[0]!;
    const other = { ...own.history[0]!, event_id: "elsewhere", type: "procedure.noted", tablet_id: "desk" };
    await addNote(own, "Written here, not sent");
    house.value = { ...house.value, records: [{ ...own, history: [...own.history, other] } as never] };
    expect(allRecords.value[0]?.notes.map((one) => one.text)).toEqual(["Written here, not sent"]);
  });
});

describe("the timer", () => {
  it("keeps the running time of one case when another is opened", () => {
    startTimer("one", "pass-1", 1_000);
    startTimer("two", "pass-2", 5_000);
    expect(running.value).toMatchObject({ record_id: "one", pass_id: "pass-1", started_ms: 1_000 });
    clearTimer();
    startTimer("two", "pass-2", 6_000);
    expect(running.value).toMatchObject({ record_id: "two", started_ms: 6_000 });
    clearTimer();
  });
});
