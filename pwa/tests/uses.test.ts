import { beforeAll, beforeEach, describe, expect, it } from "vitest";
import { openCase, startPass } from "../src/session/commands";
import { house } from "../src/session/house";
import { ownRecords, person } from "../src/session/state";
import { usesOf } from "../src/session/uses";
import { forgetWritten, readyToFold, take } from "../src/session/written";
import { readEvents } from "../src/outbox/read";
import { freshTablet } from "./support/tablet";

const device = {
  device_id: "laser", label: "Laser", maker: "Invented", model: "One", serial: "1", wavelength: "10.6 um",
  delivery_part: "articulated arm", modes: ["continuous"], limits: {}, room_id: null,
};
const tip = (handpiece_id: string) => ({
  handpiece_id, device_id: "laser", label: handpiece_id, kind: "tip", spot_diameter: "0.25 mm",
  diameter_definition: "1/e2", spot_known: "label", working_distance: null, use_limit: 20,
});
const form = (handpiece_id: string) => ({
  chart_number: "1", second_identifier: "AB", procedure: { procedure_kind_id: null, text: "Frenum", code: null }, site: "upper",
  indication: "tie", why_laser: null, operator_id: "dent", supervising_id: null, assistant_ids: [], others_present: null, room: null,
  consent: null, anaesthesia: null, alerts_reviewed: true, device_id: "laser", handpiece_id, mode: "continuous",
});
const plan = (handpiece_id: string) => ({
  device_id: "laser", handpiece_id, preset: null, preset_settings: null, spot_known: "label", focus: "focused", coolant: "none", distance: null,
  settings: { wavelength: "10.6 um", emission: { mode: "continuous", power: "4 W" }, spot: { diameter: "0.25 mm", diameter_definition: "1/e2" } },
});
let tablet: Awaited<ReturnType<typeof freshTablet>>;

beforeAll(readyToFold);
beforeEach(async () => {
  tablet = await freshTablet();
  forgetWritten();
  person.value = { person_id: "dent", display_name: "D", initials: "D", roles: ["clinician"] };
  house.value = { ...house.value, devices: [device], handpieces: [tip("fine"), tip("broad")], verifications: [], records: [],
    // Seven uses, the last of them before this tablet's clock.
    uses: { fine: { uses: 7, last_used_at: "2026-11-25T09:00:00.000+01:00" } } } as never;
});

describe("which use of a tip it is", () => {
  it("goes on from the server's count with every case that the server does not know", async () => {
    await openCase(form("fine"));
    tablet.clock.ms += 60_000;
    await openCase(form("fine"));
    // Seven before: these are the eighth and the ninth, and nine stand now.
    expect(ownRecords.value.map((one) => one.handpiece?.use_count)).toEqual([9, 8]);
    expect(usesOf("fine")).toBe(9);
    expect(usesOf("broad")).toBe(0);
  });

  it("is one use for a case, however many of its passes use it", async () => {
    await openCase(form("fine"));
    for (const one of ["fine", "broad", "broad", "fine"]) await startPass(ownRecords.value[0]!, plan(one));
    expect(ownRecords.value[0]!.passes.map((one) => one.handpiece?.use_count)).toEqual([8, 1, 1, 8]);
    expect(usesOf("fine")).toBe(8);
    expect(usesOf("broad")).toBe(1);
  });

  it("does not count twice what the server has counted meanwhile", async () => {
    await openCase(form("fine"));
    const started_at = ownRecords.value[0]!.started_at;
    take((await readEvents()).map((one) => ({ ...one, state: "settled" as const, result: { outcome: "applied" } })));
    house.value = { ...house.value, uses: { fine: { uses: 8, last_used_at: started_at } } };
    expect(usesOf("fine")).toBe(8);
    // And for this very case it is still its own eighth.
    expect(usesOf("fine", ownRecords.value[0]!.record_id)).toBe(7);
  });
});
