import { beforeAll, beforeEach, describe, expect, it } from "vitest";
import { addLaserTime, endCase, openCase, startPass, withdraw } from "../src/session/commands";
import { correct, handOver, openPause, pauseCase, payloadOf, resumeCase, takeBack } from "../src/session/commands_case";
import type { RecordDocument } from "../src/session/fold";
import { house } from "../src/session/house";
import { ownRecords, person } from "../src/session/state";
import { forgetWritten, readyToFold } from "../src/session/written";
import { clearTimer, elapsed, holdTimer, running, startTimer } from "../src/session/timer";
import { EMPTY, formOf, lastToday, said, siteText, withDefaults } from "../src/screens/case/opening-form";
import { asBefore, formOf as protectionForm, present, saidBy, startForm, uncovered, withHead, withoutHead } from "../src/screens/case/protection-form";
import { earlierSettings } from "../src/screens/case/plan-now";
import { freshTablet, START_MS } from "./support/tablet";

const device = {
  device_id: "laser", label: "Laser", maker: "Invented", model: "One", serial: "1", wavelength: "10.6 um",
  delivery_part: "articulated arm", modes: ["continuous"], limits: {}, room_id: null,
};
const tip = {
  handpiece_id: "fine", device_id: "laser", label: "fine", kind: "tip", spot_diameter: "0.25 mm",
  diameter_definition: "1/e2", spot_known: "label", working_distance: null,
};
const form = {
  chart_number: "4711", second_identifier: "AB", procedure: { procedure_kind_id: null, text: "Frenum", code: null }, site: "upper lip",
  indication: "tie", why_laser: "dry field", operator_id: "dent", supervising_id: null, assistant_ids: ["assi"], others_present: "one parent",
  room: "Room 1", consent: { by: "dent", at: "2026-11-24T09:30:00.250+01:00" }, anaesthesia: "infiltration", alerts_reviewed: true,
  device_id: "laser", handpiece_id: "fine", mode: "continuous",
};
const plan = (power: string) => ({
  device_id: "laser", handpiece_id: "fine", preset: null, preset_settings: null, spot_known: "label", focus: "focused", coolant: "none", distance: null,
  settings: { wavelength: "10.6 um", emission: { mode: "continuous", power }, spot: { diameter: "0.25 mm", diameter_definition: "1/e2" } },
});
const one = (): RecordDocument => ownRecords.value[0]!;
const effective = (type: string) => one().history.filter((line) => line.type === type && line.effective);

beforeAll(readyToFold);
beforeEach(async () => {
  await freshTablet();
  forgetWritten();
  person.value = { person_id: "dent", display_name: "D", initials: "D", roles: ["clinician"] };
  const people = [{ person_id: "dent", display_name: "Dentist" }, { person_id: "assi", display_name: "Assistant" }];
  house.value = { ...house.value, devices: [device], handpieces: [tip], verifications: [], records: [], uses: {}, people } as never;
  await openCase(form as never, ["Licence not on record. Reason given: renewed yesterday"]);
});

describe("putting an entry right", () => {
  it("keeps what was said, and what corrects a correction corrects that one", async () => {
    await startPass(one(), plan("4 W"));
    const time = await addLaserTime(one(), one().passes[0]!.pass_id, "12", "estimate", null);
    const again = async (event_id: string, seconds: string) =>
      correct(one(), event_id, "laser.emitted", { ...payloadOf<object>(one().record_id, event_id)!, laser_on_time: `${seconds} s` });
    const first = await again(time, "13");
    await again(first, "14");
    expect(one().passes[0]!.laser_on_s).toBe(14);
    expect(one().flags).toEqual([]);
    await expect(again(time, "15")).rejects.toMatchObject({ code: "not_effective" });
    // Taken back as a whole, whichever of the three is named.
    const gone = await takeBack(one(), effective("laser.emitted")[0]!.event_id, "another patient's");
    expect(one().passes[0]!.laser_on).toEqual([]);
    await withdraw(one().record_id, gone, "was right after all");
    expect(one().passes[0]!.laser_on_s).toBe(14);
    expect(one().history.filter((line) => line.type === "laser.emitted")).toHaveLength(3);
  });

  it("works after the end, and not after the signature", async () => {
    await startPass(one(), plan("4 W"));
    await endCase(one(), { haemostasis: null, specimens: null, sutures: null, complications: null, instructions: null });
    const [note] = effective("procedure.noted");
    await correct(one(), note!.event_id, "procedure.noted", { text: "Reason given: renewed today" });
    expect(one().notes[0]?.text).toBe("Reason given: renewed today");
    const signed = { ...one(), status: "signed" as const };
    await expect(correct(signed, note!.event_id, "procedure.noted", { text: "x" })).rejects.toMatchObject({ code: "signed" });
    await expect(takeBack(signed, note!.event_id, "x")).rejects.toMatchObject({ code: "signed" });
  });
});

describe("the course of a case", () => {
  it("is paused once, and goes on by hand or with the next pass", async () => {
    await expect(resumeCase(one())).rejects.toMatchObject({ code: "not_paused" });
    await pauseCase(one(), "Tip change");
    expect(openPause(one())?.reason).toBe("Tip change");
    await resumeCase(one());
    expect(openPause(one())).toBeNull();
    await pauseCase(one(), null);
    await startPass(one(), plan("4 W"));
    expect(openPause(one())).toBeNull();
    expect(one().pauses).toHaveLength(2);
  });

  it("gives passes to whoever operates then", async () => {
    await startPass(one(), plan("4 W"));
    await handOver(one(), "operator", "dent", "dent2", null);
    await startPass(one(), plan("5 W"));
    expect(one().passes.map((pass) => pass.operator_id)).toEqual(["dent", "dent2"]);
    await expect(handOver(one(), "operator", "dent2", "dent2", null)).rejects.toMatchObject({ code: "same_person" });
  });

  it("offers each of its earlier settings once, the latest first, without those in force", async () => {
    for (const power of ["4 W", "5 W", "4.0 W", "6 W", "5 W"]) await startPass(one(), plan(power));
    expect(earlierSettings(one(), 4).map((pass) => pass.number)).toEqual([4, 3]);
    expect(earlierSettings(one(), 1).map((pass) => pass.number)).toEqual([4]);
  });
});

describe("the opening form", () => {
  const dentist = { person_id: "dent", roles: ["clinician"] };
  const assistant = { person_id: "assi", roles: ["assistant"] };
  const known = { last: null, who: dentist, kind: null, clinicians: [dentist, { person_id: "other" }] };

  it("takes people and room from the last case of today, and nothing of its patient", () => {
    const last = lastToday(ownRecords.value, "dent", START_MS + 3_600_000);
    expect(withDefaults(EMPTY, { ...known, last })).toEqual({ ...EMPTY, operator: "dent", assistants: ["assi"], room: "Room 1" });
    expect(lastToday(ownRecords.value, "dent", START_MS + 86_400_000)).toBeNull();
    expect(lastToday(ownRecords.value, "somebody else", START_MS)).toBeNull();
  });

  it("leaves out again whom somebody took out, and the supervisor too", () => {
    const last = { ...lastToday(ownRecords.value, "dent", START_MS)!, supervising_id: "other" };
    expect(withDefaults(EMPTY, { ...known, last }).supervising).toBe("other");
    expect(withDefaults({ ...EMPTY, assistants: [], supervising: "" }, { ...known, last })).toMatchObject({ assistants: [], supervising: "" });
  });

  it("enters whoever opens a case and does not operate as assisting", () => {
    expect(withDefaults(EMPTY, { ...known, who: assistant })).toMatchObject({ operator: "", assistants: ["assi"] });
    // With one dentist in the house there is nothing to choose.
    expect(withDefaults(EMPTY, { ...known, who: assistant, clinicians: [dentist] })).toMatchObject({ operator: "dent", assistants: ["assi"] });
    const both = { person_id: "dent", roles: ["clinician", "assistant"] };
    expect(withDefaults(EMPTY, { ...known, who: both })).toMatchObject({ operator: "dent", assistants: [] });
    // Chosen as the operator afterwards, nobody assists themselves.
    expect(said({ ...EMPTY, assistants: ["assi", "other"] }, "other").assistant_ids).toEqual(["assi"]);
  });

  it("takes the kind of procedure of the planned preset until another one is chosen", () => {
    expect(withDefaults(EMPTY, { ...known, kind: "frenum" }).kind).toBe("frenum");
    expect(withDefaults({ ...EMPTY, kind: "biopsy" }, { ...known, kind: "frenum" }).kind).toBe("biopsy");
  });

  it("shows an opening so that saying it again says the same", () => {
    const opened = payloadOf<Parameters<typeof formOf>[0]>(one().record_id, effective("procedure.opened")[0]!.event_id)!;
    const { consent, ...rest } = said(formOf(opened), opened.operator_id);
    expect(rest).toEqual({
      chart_number: "4711", second_identifier: "AB", procedure: { procedure_kind_id: null, text: "Frenum", code: null }, site: "upper lip",
      indication: "tie", why_laser: "dry field", operator_id: "dent", supervising_id: null, assistant_ids: ["assi"], others_present: "one parent",
      room: "Room 1", anaesthesia: "infiltration", alerts_reviewed: true,
    });
    expect(consent).toMatchObject({ by: "dent" });
    // The form knows minutes; the correction keeps the moment where it was not touched, in whichever zone it is written.
    expect(new Date(consent!.at).toISOString()).toBe("2026-11-24T08:30:00.000Z");
  });

  it("puts tooth, quadrant and words together", () => {
    expect(siteText({ site: " buccal ", tooth: "11", quadrant: "upper right" })).toBe("tooth 11, upper right, buccal");
    expect(siteText({ site: "", tooth: "", quadrant: "" })).toBe("");
  });
});

describe("protection", () => {
  it("asks for everybody the record names and the patient, with what they wore last", () => {
    const last = { heads: 1, eyewear: [{ label: "Goggles 3", wavelength: "10.6 um", optical_density: "5", wearer: "Dentist" }], evacuator: "on", masks: null, deviations: "none noted" };
    const start = startForm(present(one(), ["assi"], "dent"), last);
    expect(start.worn.map((worn) => [worn.wearer, worn.label])).toEqual([["Dentist", "Goggles 3"], ["Assistant", ""], ["Patient", ""]]);
    expect(start).toMatchObject({ heads: 3, evacuator: "on", deviations: "" });
    expect(uncovered(start)).toBe(2);
  });

  it("counts a head more with each line, and one less with whoever is not in the room", () => {
    const start = startForm(["Dentist", "Patient"], null);
    expect(withHead(start)).toMatchObject({ heads: 3, worn: [{ wearer: "Dentist" }, { wearer: "Patient" }, { wearer: "", added: true }] });
    expect(withoutHead(start, 0)).toMatchObject({ heads: 1, worn: [{ wearer: "Patient" }] });
    // More heads than lines were counted on purpose: those without a line stay.
    expect(withoutHead({ ...start, heads: 4 }, 0).heads).toBe(4);
  });

  it("takes over what the same people wore, and asks again for whoever was not there", () => {
    const before = { heads: 2, eyewear: [{ label: "Goggles 3", wavelength: null, optical_density: "5", wearer: "Dentist" }, { label: "Goggles 9", wavelength: null, optical_density: null, wearer: "Somebody else" }], evacuator: null, masks: "FFP2", deviations: "one pair scratched" };
    const form = asBefore({ ...startForm(["Dentist", "Patient"], null), evacuator: "on" }, before);
    expect(form.worn.map((one) => [one.wearer, one.label, one.density])).toEqual([["Dentist", "Goggles 3", "5"], ["Patient", "", ""]]);
    expect(form).toMatchObject({ heads: 2, evacuator: "on", masks: "FFP2", deviations: "" });
  });

  it("keeps only lines that say who wears what, and a decimal comma as a point", () => {
    const typed = protectionForm({ heads: 2, eyewear: [], evacuator: null, masks: null, deviations: null });
    const noted = saidBy({ ...typed, worn: [
      { wearer: "Dentist", label: "Goggles 3", wavelength: "", density: "5,5" }, { wearer: "Patient", label: " ", wavelength: "", density: "" },
    ] });
    expect(noted.eyewear).toEqual([{ wearer: "Dentist", label: "Goggles 3", wavelength: null, optical_density: "5.5" }]);
    expect(noted.heads).toBe(2);
  });
});

describe("the timer", () => {
  it("adds stretches of one pass that were timed one after the other", () => {
    startTimer("r", "p", 1_000);
    holdTimer(4_000);
    holdTimer(9_000);
    startTimer("r", "other pass", 10_000);
    expect(running.value).toMatchObject({ pass_id: "p", stopped_ms: 4_000 });
    startTimer("r", "p", 20_000);
    holdTimer(22_500);
    // 3 s and 2.5 s.
    expect(elapsed(running.value!, 99_000)).toBe("5.5");
    clearTimer();
    expect(running.value).toBeNull();
  });
});
