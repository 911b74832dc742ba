import { beforeAll, beforeEach, describe, expect, it } from "vitest";
import { openCase, startPass } from "../src/session/commands";
import { listKind, publishPreset, setPresetDraftAside, withdrawPreset, type Content } from "../src/session/commands_presets";
import { house } from "../src/session/house";
import { kinds, kindsOffered, presetDocument, presetsInForce, waitsHere } from "../src/session/house_presets";
import { fold } from "../src/session/fold";
import { readEvents } from "../src/outbox/read";
import { person } from "../src/session/state";
import type { PassPlan } from "../src/session/types";
import { eventsOf, forgetWritten, readyToFold } from "../src/session/written";
import { freshTablet } from "./support/tablet";

const settings = {
  wavelength: "10.6 um", emission: { mode: "continuous", power: "4 W" }, spot: { diameter: "0.25 mm", diameter_definition: "1/e2" },
};
const content = (name: string, power = "4 W"): Content => ({
  name, procedure_kind_id: null, device_id: "laser", handpiece_id: "fine",
  settings: { ...settings, emission: { mode: "continuous", power } },
  spot_known: "label", focus: "focused", coolant: "none", note: null, reviewed_by: "dent",
});
const publication = (base: number | null, more: object = {}) =>
  ({ preset_id: "p1", base, answers: null, from_draft: null, key: "key-00000001", ...more });
const plan = (version: number): PassPlan => ({
  device_id: "laser", handpiece_id: "fine", settings, preset: { preset_id: "p1", version, name: "Fine" }, preset_settings: settings,
  spot_known: "label", focus: "focused", coolant: "none", distance: null,
});

beforeAll(readyToFold);

beforeEach(async () => {
  await freshTablet();
  forgetWritten();
  person.value = { person_id: "dent", display_name: "D", initials: "D", roles: ["clinician"] };
  house.value = {
    ...house.value, records: [], presetDocuments: [], kinds: [], verifications: [],
    devices: [{
      device_id: "laser", label: "Laser", maker: "Invented", model: "One", serial: "1", wavelength: "10.6 um", delivery_part: "articulated arm",
      modes: ["continuous"], limits: {}, room_id: null,
    }],
    handpieces: [{
      handpiece_id: "fine", device_id: "laser", label: "Fine", kind: "focusing handpiece", spot_diameter: "0.25 mm", diameter_definition: "1/e2",
      spot_known: "label", working_distance: null,
    }],
  };
});

describe("a preset published without a network", () => {
  it("counts here at once, waits to be sent, and is followed by the next version", async () => {
    await publishPreset(publication(null), content("Fine"));
    expect(presetsInForce.value.map((one) => [one.name, one.version])).toEqual([["Fine", 1]]);
    expect(waitsHere("p1")).toBe(true);
    await publishPreset(publication(1), content("Fine", "5 W"));
    expect(presetsInForce.value[0]!.settings.emission["power"]).toBe("5 W");
    expect(eventsOf("p1").map((e) => [e.body.type, e.body.base_version, e.payload["version"]]))
      .toEqual([["preset.published", null, 1], ["preset.published", 1, 2]]);
  });

  it("comes back into force only by a version that names its withdrawal", async () => {
    await publishPreset(publication(null), content("Fine"));
    await withdrawPreset(presetDocument("p1")!, "too much");
    expect(presetsInForce.value).toEqual([]);
    await publishPreset(publication(1), content("Fine", "3 W"));
    expect([presetDocument("p1")!.status, presetDocument("p1")!.drafts.length]).toEqual(["withdrawn", 1]);
    const answers = presetDocument("p1")!.withdrawn!.event_id;
    await publishPreset(publication(1, { answers, from_draft: presetDocument("p1")!.drafts[0]!.event_id }), content("Fine", "3 W"));
    expect([presetDocument("p1")!.status, presetDocument("p1")!.drafts.length]).toEqual(["current", 0]);
  });

  it("stays in force when a draft of it is set aside", async () => {
    await publishPreset(publication(null), content("Fine"));
    await publishPreset(publication(null), content("Other"));
    const [draft] = presetDocument("p1")!.drafts;
    await setPresetDraftAside("p1", draft!.event_id, "the same");
    expect([presetsInForce.value[0]!.name, presetDocument("p1")!.drafts, presetDocument("p1")!.set_aside.length]).toEqual(["Fine", [], 1]);
  });
});

describe("a withdrawn preset", () => {
  const opened = async () => {
    await openCase({
      chart_number: "1", second_identifier: "AB", procedure: { procedure_kind_id: null, text: "Frenum", code: null }, site: "upper", indication: "tie",
      why_laser: null, operator_id: "dent", supervising_id: null, assistant_ids: [], others_present: null, room: null, consent: null,
      anaesthesia: null, alerts_reviewed: true, device_id: "laser", handpiece_id: "fine", mode: "continuous",
    });
    return async () => fold((await readEvents()).filter((e) => !e.body.type.startsWith("preset.")));
  };

  it("begins no pass", async () => {
    await publishPreset(publication(null), content("Fine"));
    const record = await opened();
    await withdrawPreset(presetDocument("p1")!, "too much");
    await expect(startPass(await record(), plan(1))).rejects.toMatchObject({ code: "preset_withdrawn" });
    expect((await record()).passes).toEqual([]);
  });

  it("hinders no case that is using it: what happens is written down", async () => {
    await publishPreset(publication(null), content("Fine"));
    const record = await opened();
    await startPass(await record(), plan(1));
    await withdrawPreset(presetDocument("p1")!, "too much");
    await startPass(await record(), plan(1));
    expect((await record()).passes.length).toBe(2);
  });
});

describe("kinds of procedure", () => {
  it("are listed, written anew and retired; the last word counts", async () => {
    const id = await listKind(null, { text: "Frenectomy", code: null, notes: null, cautions: null, retired: false });
    await listKind(id, { text: "Frenectomy", code: "Q", notes: "how", cautions: "what", retired: false });
    expect(kindsOffered.value).toMatchObject([{ procedure_kind_id: id, code: "Q", notes: "how", cautions: "what", listed_by: "dent" }]);
    await listKind(id, { text: "Frenectomy", code: "Q", notes: "how", cautions: "what", retired: true });
    expect([kinds.value.length, kindsOffered.value.length]).toEqual([1, 0]);
  });
});
