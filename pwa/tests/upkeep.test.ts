/** Maintenance and incidents: the same documents as the server makes of the same entries. */
import { readFileSync } from "node:fs";
import { beforeAll, beforeEach, describe, expect, it } from "vitest";
import type { IncidentRecorded } from "../src/events/catalogue";
import { readEvents } from "../src/outbox/read";
import { filled, type Values } from "../src/screens/register/fields";
import { begun, saidIn, wrongIn, type IncidentDraft } from "../src/screens/upkeep/incident-draft";
import { WORK } from "../src/screens/upkeep/work-fields";
import type { RecordDocument } from "../src/session/fold";
import { house } from "../src/session/house";
import { person, seat } from "../src/session/state";
import { assessIncident, incidents, recordIncident, withSaidOf, type Incident } from "../src/session/upkeep";
import { foldIncident, foldMaintenance } from "../src/session/upkeep-fold";
import { forgetWritten, readyToFold } from "../src/session/written";
import type { Said } from "../src/session/register-fold";
import { freshTablet } from "./support/tablet";

type Loose = Record<string, unknown>;
interface Case { name: string; entries: { body: Said; payload: Loose }[]; document: Loose }
const { cases } = JSON.parse(readFileSync(new URL("../../tests/vectors/upkeep.json", import.meta.url), "utf8")) as { cases: Case[] };

describe("what was said about maintenance and incidents", () => {
  it.each(cases)("$name", ({ entries, document }) => {
    const fold = "incident_id" in document ? foldIncident : foldMaintenance;
    const before = structuredClone(entries);
    expect(entries.reduce<Loose | null>((known, { body, payload }) => fold(known, body, payload), null)).toEqual(document);
    expect(entries).toEqual(before);
  });
});

const own = (event_id: string, type: string, payload: Loose, outcome?: string) => ({
  body: { event_id, type, entity_id: "x1", occurred_at: `2026-03-0${event_id.slice(1)}T09:00:00.000+01:00`, actor_id: "p1" } as never,
  payload, result: (outcome ? { outcome } : null) as never,
});

describe("what this tablet said", () => {
  const events = [
    own("e1", "incident.recorded", { happened_at: "2026-03-01T08:00:00.000+01:00", kind: "fire" }),
    own("e2", "incident.assessed", { reportable: "no", reasons: "nobody was hurt" }),
    own("e3", "incident.closed", { conclusion: "swept" }),
  ];

  it("counts before the server has it, and once only after that", () => {
    const here = withSaidOf("incident", null, events)!;
    expect(here).toMatchObject({ incident_id: "x1", kind: "fire", status: "closed", open_points: [] });
    expect(withSaidOf("incident", here, events)).toEqual(here);
  });

  it("does not replace what was said later elsewhere", () => {
    const corrected = foldIncident(withSaidOf("incident", null, events), own("e5", "incident.recorded", {}).body, { kind: "plume", happened_at: "2026-03-01T08:00:00.000+01:00" });
    expect(withSaidOf("incident", corrected, events)).toMatchObject({ kind: "plume", status: "closed" });
    const work = { maintenance_id: "x1", status: "current", what: "newer", event_id: "e5", at: "2026-03-05T09:00:00.000+01:00", by: null };
    expect(withSaidOf("maintenance", work, [own("e1", "maintenance.recorded", { what: "older" }), own("e2", "maintenance.withdrawn", { reason: "no" })])).toEqual(work);
  });

  it("counts nothing that the server put aside", () => {
    expect(withSaidOf("incident", null, [own("e1", "incident.recorded", {}, "quarantined")])).toBeNull();
    expect(withSaidOf("maintenance", null, [own("e1", "maintenance.recorded", {}, "applied")])).not.toBeNull();
  });
});

const NOW = Date.parse("2026-03-02T12:00:00.000+01:00");
const whole: IncidentDraft = {
  id: "i1", key: "k", at: "2026-03-01T10:00", kind: "eye_exposure", harm: "possible", what: "A mirror", roles: ["assistant"], device_id: "d1",
  settings_text: " 4 W ", record_id: null, settings: null, done_at_once: "Eye clinic", take_out: true,
};

describe("the form of an incident", () => {
  it("begins with the laser and the settings of the open case, which it names", () => {
    const settings = { wavelength: "10.6 um", emission: { mode: "continuous", power: "4 W" }, spot: {} };
    const form = begun(null, { record_id: "r1", device: { device_id: "d1" }, passes: [{ settings: { ...settings, emission: { mode: "continuous", power: "2 W" } } }, { settings }] } as unknown as RecordDocument);
    expect(form).toMatchObject({ record_id: "r1", device_id: "d1", settings, take_out: false });
    expect(form.settings_text).toMatch(/4\sW/);
    expect(wrongIn(form, Date.now() + 60_000)).toEqual({ kind: "choose", harm: "choose", what: "missing", done_at_once: "missing" });
  });

  it.each([["2026-03-09T10:00", "ahead"], ["", "moment"]])("does not take %s as the moment", (at, code) => {
    expect(wrongIn({ ...whole, at }, NOW)).toEqual({ at: code });
  });

  it("says what stands in it, and keeps who was named and that the laser is out", () => {
    expect(wrongIn(whole, NOW)).toEqual({});
    expect(saidIn(whole, null)).toMatchObject({ people: [{ role: "assistant", person_id: null }], settings_text: "4 W", device_taken_out: true });
    expect(saidIn({ ...whole, device_id: "" }, null)).toMatchObject({ device_id: null, device_taken_out: false });
    const before = { people: [{ role: "assistant", person_id: "p7" }], device_taken_out: true, handpiece_id: "h1" } as unknown as Incident;
    expect(saidIn({ ...whole, take_out: false }, before)).toMatchObject({ people: [{ role: "assistant", person_id: "p7" }], device_taken_out: true, handpiece_id: "h1" });
  });
});

describe("the form of work on a laser", () => {
  const typed = (more: Record<string, string> = {}): Values => Object.fromEntries(
    Object.entries({ kind: "service", done_on: "2026-03-01", done_by: "A firm", what: "Aligned", ...more }).map(([path, raw]) => [path, { raw, unit: path.startsWith("power") ? "W" : "" }]));

  it("takes power as a pair or not at all", () => {
    expect(filled(WORK, typed(), "2026-03-02").wrong).toEqual({});
    expect(filled(WORK, typed({ "power_before.expected": "4" }), "2026-03-02").wrong).toEqual({ "power_before.measured": "missing" });
    expect(filled(WORK, typed({ "power_after.measured": "3,9" }), "2026-03-02").wrong).toEqual({ "power_after.expected": "missing" });
    const { payload, wrong } = filled(WORK, typed({ "power_before.expected": "4", "power_before.measured": "3,1" }), "2026-03-02");
    expect([wrong, payload["power_before"]]).toEqual([{}, { expected: "4 W", measured: "3.1 W" }]);
  });

  it("wants the work done, and the next one due after it", () => {
    expect(filled(WORK, typed({ done_on: "2026-03-03" }), "2026-03-02").wrong).toEqual({ done_on: "ahead" });
    expect(filled(WORK, typed({ next_due_on: "2026-03-01" }), "2026-03-02").wrong).toEqual({ next_due_on: "early" });
    expect(filled(WORK, typed({ next_due_on: "2026-03-02" }), "2026-03-02").wrong).toEqual({});
  });
});

describe("on a tablet", () => {
  beforeAll(readyToFold);
  beforeEach(async () => {
    await freshTablet();
    forgetWritten();
    seat.value = "tablet";
    person.value = { person_id: "officer", display_name: "O", initials: "O", roles: ["safety_officer"] };
    house.value = { ...house.value, documents: {}, place: { location_id: "l", name: "", practice_name: "", zone: "Europe/Berlin", rooms: [] } };
  });
  const said: IncidentRecorded = saidIn(whole, null);

  it("an incident and the laser taken out of service with it are one save", async () => {
    await recordIncident("i1", said, "Incident: eye", "key-1");
    const stored = await readEvents();
    expect(stored.map(({ body }) => [body.type, body.entity_id])).toEqual([["incident.recorded", "i1"], ["device.taken_out", "d1"]]);
    expect(stored[1]!.payload).toEqual({ reason_code: "suspicion", reason: "Incident: eye", key_held_by: null });
    expect(new Set(stored.map(({ saved_at }) => saved_at)).size).toBe(1);
    expect(incidents.value).toMatchObject([{ incident_id: "i1", status: "open", open_points: ["not_assessed"] }]);
  });

  it("an incident alone takes nothing out", async () => {
    await recordIncident("i1", { ...said, device_taken_out: false }, null, "key-1");
    expect((await readEvents()).map(({ body }) => body.type)).toEqual(["incident.recorded"]);
  });

  it("one of which only the decision is here is not shown", async () => {
    await assessIncident("i9", { reportable: "no", reasons: "r", citation: null, to_whom: null, report_by: null, reported_on: null });
    expect(incidents.value).toEqual([]);
  });
});
