import { describe, expect, it } from "vitest";
import type { FoldEvent, RecordDocument } from "../src/session/fold";
import { standsFor, withPending } from "../src/session/pending";

const line = (event_id: string) => ({
  event_id, type: "procedure.opened", at: "2026-11-25T10:00:00.000+01:00", by: "dent", tablet_id: "A",
  tablet_seq: 1, corrects: null, body_hash: "01".repeat(32), effective: true, said: {}, changes: [],
});

const sent = { record_id: "rec", status: "ended", version: 0, sign_off: null, addenda: [], versions: [], reattributions: [], voided: null,
  patient: { chart_number: "1001", second_identifier: "AB" }, history: [line("e1")] } as unknown as RecordDocument;

function own(event_id: string, type: string, payload: object): FoldEvent {
  const body = { event_id, type, occurred_at: "2026-11-25T11:00:00.000+01:00", actor_id: "dent", tablet_id: "B", tablet_seq: 4, corrects: null };
  return { body, payload, body_hash: "04".repeat(32) } as unknown as FoldEvent;
}

const signature = own("e4", "record.signed", { signer_id: "dent", role: "clinician", content_hash: "aa", statement: "Read back." });
const addendum = own("e5", "record.addended", { text: "Healed well.", reason: "review" });

describe("what was written here about a record from elsewhere", () => {
  it("shows a signature that the server does not know yet", () => {
    const shown = withPending(sent, [signature]);
    expect(shown.status).toBe("signed");
    expect(shown.version).toBe(1);
    expect(shown.sign_off?.at).toBe("2026-11-25T11:00:00.000+01:00");
    expect(shown.history.map((one) => one.event_id)).toEqual(["e1", "e4"]);
    expect(sent.history).toHaveLength(1);
  });

  it("adds an addendum after the signature", () => {
    const shown = withPending(sent, [signature, addendum]);
    expect(shown.status).toBe("amended");
    expect(shown.addenda.map((one) => one.text)).toEqual(["Healed well."]);
  });

  it("shows a record under its new number at once, and as void", () => {
    const from = { chart_number: "1001", second_identifier: "AB" };
    const to = { chart_number: "2002", second_identifier: "CD" };
    const moved = withPending(sent, [own("e6", "record.reattributed", { from, to, reason: "mistyped" })]);
    expect(moved).toMatchObject({ patient: to, status: "ended", version: 0 });
    expect(moved.reattributions[0]).toMatchObject({ from, to, reason: "mistyped", by: "dent" });
    const later = withPending(sent, [signature, own("e6", "record.reattributed", { from, to, reason: "mistyped" })]);
    expect(later).toMatchObject({ patient: to, status: "amended", version: 2 });
    expect(later.versions.map((one) => one.cause)).toEqual(["signed", "reattribution"]);
    const gone = withPending(sent, [signature, own("e7", "record.voided", { reason: "entered twice" })]);
    expect(gone).toMatchObject({ status: "void", version: 2, voided: { reason: "entered twice", by: "dent" } });
  });

  it("does nothing twice once the server's copy holds it", () => {
    const back = { ...sent, status: "signed", version: 1, sign_off: { event_id: "e4" }, history: [line("e1"), line("e4")] } as unknown as RecordDocument;
    expect(withPending(back, [signature])).toBe(back);
  });

  it("never makes an addendum of an unsigned record", () => {
    expect(withPending(sent, [addendum])).toBe(sent);
  });
});

describe("which of two copies of an own record is shown", () => {
  const copy = (...history: object[]): RecordDocument => ({ ...sent, history }) as unknown as RecordDocument;
  const typed = (event_id: string, type: string) => ({ ...line(event_id), type });

  it("is ours while an entry of ours is not in the server's, however many others are", () => {
    const ours = copy(line("e1"), typed("e2", "procedure.noted"));
    expect(standsFor(copy(line("e1"), typed("x1", "procedure.noted")), ours)).toBe(false);
    expect(standsFor(copy(line("e1"), typed("x1", "procedure.noted"), typed("x2", "record.signed")), ours)).toBe(false);
    expect(standsFor(copy(line("e1")), ours)).toBe(false);
  });

  it("is the server's once it holds all of ours", () => {
    expect(standsFor(copy(line("e1")), copy(line("e1")))).toBe(true);
    expect(standsFor(copy(line("e1"), typed("x1", "record.signed")), copy(line("e1")))).toBe(true);
  });

  it("is the server's, signed elsewhere, under addenda of ours that are still to be sent", () => {
    const signed = copy(line("e1"), typed("x1", "record.signed"));
    const ours = copy(line("e1"), typed("e2", "record.addended"), typed("e3", "record.addended"));
    expect(standsFor(signed, ours)).toBe(true);
    expect(standsFor(copy(line("e1")), ours)).toBe(false);
  });
});
