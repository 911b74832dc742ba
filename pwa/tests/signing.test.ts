import { beforeEach, describe, expect, it } from "vitest";
import { readEvents } from "../src/outbox/read";
import { endCase, openCase, startPass, type OpenForm } from "../src/session/commands";
import { addAddendum, coveredHashes, moveRecord, signRecords, voidRecord } from "../src/session/commands_record";
import { contentHash, fold, type RecordDocument } from "../src/session/fold";
import { house } from "../src/session/house";
import { isRead, markRead, openPoints, ownToSign, signerRole, toSign } from "../src/session/signing";
import { allRecords, ownRecords, person } from "../src/session/state";
import { forgetWritten, readyToFold } from "../src/session/written";
import { freshTablet } from "./support/tablet";

const form = {
  chart_number: "1", second_identifier: "AB", procedure: { procedure_kind_id: null, text: "Frenum", code: null }, site: "upper",
  indication: "tie", why_laser: null, operator_id: "dent", supervising_id: null, assistant_ids: [], room: null, consent_by: null,
  anaesthesia: null, alerts_reviewed: true, device_id: "laser", handpiece_id: "fine", mode: "continuous",
} as unknown as OpenForm;
const TO = { chart_number: "2", second_identifier: "CD" };
const clinician = { person_id: "dent", display_name: "D", initials: "D", roles: ["clinician"] };

async function ended(chart_number: string, more: Partial<OpenForm> = {}): Promise<RecordDocument> {
  const record_id = await openCase({ ...form, chart_number, ...more });
  const now = () => ownRecords.value.find((one) => one.record_id === record_id)!;
  await endCase(now(), { haemostasis: "complete" });
  return now();
}
const now = (record: RecordDocument): RecordDocument => allRecords.value.find((one) => one.record_id === record.record_id)!;

beforeEach(async () => {
  await freshTablet();
  forgetWritten();
  await readyToFold();
  person.value = null;
  person.value = clinician;
  house.value = {
    ...house.value, records: [], verifications: [],
    devices: [{ device_id: "laser", label: "Laser", maker: "Invented", model: "One", serial: "1", wavelength: "10.6 um", delivery_part: "articulated arm", modes: ["continuous"], limits: {}, room_id: null }],
    handpieces: [{ handpiece_id: "fine", device_id: "laser", label: "fine", kind: "focusing handpiece", spot_diameter: "0.25 mm", diameter_definition: "1/e2", spot_known: "label", working_distance: null }],
  };
});

describe("signing several records at once", () => {
  it("gives each its own signature over its own content, in one transaction", async () => {
    const records = [await ended("1"), await ended("2")];
    await signRecords(records, (one) => `read ${one.patient?.chart_number}`);
    const events = await readEvents();
    expect(events.slice(-2).map((one) => [one.body.type, one.body.entity_id])).toEqual(records.map((one) => ["record.signed", one.record_id]));
    for (const record of records) {
      const own = events.filter((one) => one.body.entity_id === record.record_id);
      const { sign_off } = fold(own);
      expect(sign_off).toMatchObject({ signer_id: "dent", role: "operator", statement: `read ${record.patient?.chart_number}` });
      expect(sign_off?.content_hash).toBe(await contentHash(own, sign_off!.event_id));
    }
  });

  it("signs none when one of them cannot be signed", async () => {
    const good = await ended("1");
    const open = await openCase(form);
    const other = ownRecords.value.find((one) => one.record_id === open)!;
    const before = (await readEvents()).length;
    await expect(signRecords([good, other], () => "read")).rejects.toMatchObject({ code: "not_ended" });
    const unhashed = { ...good, history: good.history.map((line) => ({ ...line, body_hash: "" })) };
    await expect(signRecords([good, unhashed], () => "read")).rejects.toMatchObject({ code: "elsewhere" });
    person.value = { ...clinician, roles: ["assistant"] };
    await expect(signRecords([good], () => "read")).rejects.toMatchObject({ code: "not_clinician" });
    expect((await readEvents()).length).toBe(before);
  });

  it("does not cover a move made before it, as the server counts it", async () => {
    const record = await ended("1");
    await moveRecord(record, TO, "mistyped");
    const moved = now(record);
    expect(moved.patient).toEqual(TO);
    expect(coveredHashes(moved.history)).toEqual(record.history.map((line) => line.body_hash));
    await signRecords([moved], () => "read");
    const own = (await readEvents()).filter((one) => one.body.entity_id === record.record_id);
    expect(fold(own).flags).toEqual([]);
    expect(fold(own).sign_off?.content_hash).toBe(await contentHash(own, fold(own).sign_off!.event_id));
  });
});

describe("as what somebody signs", () => {
  it("is named by the role in the record", () => {
    const record = { operator_id: "hygienist", supervising_id: "dent" };
    expect(signerRole(record, "hygienist")).toBe("operator");
    expect(signerRole(record, "dent")).toBe("supervising dentist");
    expect(signerRole(record, "other")).toBe("clinician");
  });
});

describe("what is read in a sitting", () => {
  it("is unread again after a further entry, and for the next person", async () => {
    const record = await ended("1");
    expect(isRead(record)).toBe(false);
    markRead(record);
    expect(isRead(now(record))).toBe(true);
    await moveRecord(record, TO, "mistyped");
    expect(isRead(now(record))).toBe(false);
    markRead(now(record));
    person.value = { ...clinician, person_id: "other" };
    expect(isRead(now(record))).toBe(false);
    // Locked and back again, nobody has to read a day's records twice.
    person.value = null;
    person.value = clinician;
    expect(isRead(now(record))).toBe(true);
  });

  it("offers one's own records first", async () => {
    await ended("1", { operator_id: "other" });
    await ended("2");
    expect(toSign.value.map((one) => one.patient?.chart_number)).toEqual(["2", "1"]);
    expect(ownToSign.value.map((one) => one.patient?.chart_number)).toEqual(["2"]);
  });
});

describe("what is still open", () => {
  const codes = (record: RecordDocument, ...kinds: string[]) => openPoints(record, (kind) => kinds.includes(kind)).map((one) => one.code);

  it("is an unanswered time-out, protection not noted, missing passes and times, lists that are in force, and flags", async () => {
    const record = await ended("1");
    expect(codes(record)).toEqual(["time_out", "no_protection", "no_passes"]);
    expect(codes(record, "before_patient", "time_out", "after_use")).toEqual(["time_out", "list_missing", "list_missing", "no_protection", "no_passes"]);
    const noted = { ...record, protection: { heads: 2 } } as unknown as RecordDocument;
    expect(codes(noted)).toEqual(["time_out", "no_passes"]);
    const flagged = { ...record, flags: [{ code: "x", text: "odd", event_id: "e" }] };
    expect(openPoints(flagged, () => false).at(-1)).toEqual({ code: "flag", flag: flagged.flags[0] });
  });

  it("is a no in the time-out, and a pass without laser-on time", async () => {
    const record_id = await openCase(form);
    const open = () => ownRecords.value.find((one) => one.record_id === record_id)!;
    await startPass(open(), {
      device_id: "laser", handpiece_id: "fine", preset: null, preset_settings: null, spot_known: "label", focus: "focused", coolant: "none", distance: null,
      settings: { wavelength: "10.6 um", emission: { mode: "continuous", power: "4 W" }, spot: { diameter: "0.25 mm", diameter_definition: "1/e2" } },
    });
    const answer = { item_id: "i", text: "consent", answer: "no", note: "later", answered_at: "2026-11-25T10:00:00.000+01:00" } as const;
    const record = { ...open(), time_out: { list_id: "l", list_version: 1, title: "T", led_by: "dent", completed_at: "2026-11-25T10:00:00.000+01:00", answers: [answer] } };
    expect(openPoints(record, () => false)).toEqual([{ code: "not_ended" }, { code: "no_answers", count: 1 }, { code: "no_protection" }, { code: "no_time", passes: [1] }]);
  });
});

describe("wrong patient and void", () => {
  it("moves a record with both identifiers, and refuses the patient it stands under", async () => {
    const record = await ended("1");
    await expect(moveRecord(record, { chart_number: "1", second_identifier: "AB" }, "x")).rejects.toMatchObject({ code: "same_patient" });
    await moveRecord(record, TO, "mistyped");
    expect((await readEvents()).at(-1)).toMatchObject({ body: { type: "record.reattributed" }, payload: { from: { chart_number: "1", second_identifier: "AB" }, to: TO, reason: "mistyped" } });
  });

  it("makes a record void once, after which it is neither signed, moved nor added to", async () => {
    const record = await ended("1");
    await voidRecord(record, "entered twice");
    const gone = now(record);
    expect(gone.status).toBe("void");
    expect(toSign.value).toEqual([]);
    for (const work of [voidRecord(gone, "x"), moveRecord(gone, TO, "x"), addAddendum(gone, "x", "x"), signRecords([gone], () => "x")]) {
      await expect(work).rejects.toMatchObject({ name: "Error" });
    }
  });

  it("is for clinicians only", async () => {
    const record = await ended("1");
    person.value = { ...clinician, roles: ["assistant", "safety_officer"] };
    await expect(moveRecord(record, TO, "x")).rejects.toMatchObject({ code: "not_clinician" });
    await expect(voidRecord(record, "x")).rejects.toMatchObject({ code: "not_clinician" });
  });
});
