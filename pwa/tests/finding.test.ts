import { describe, expect, it } from "vitest";
import { facetsOf, matching, movedAway, NO_FILTERS, plainWords, waitsForChart } from "../src/session/finding";
import type { RecordDocument } from "../src/session/record";

const NAMES: Record<string, string> = { u1: "Dr Íñigo Ruiz", u2: "Dr Müller" };
const name = (id: string): string | null => NAMES[id] ?? null;

function record(record_id: string, more: object = {}): RecordDocument {
  return {
    record_id, status: "signed", version: 1, patient: { chart_number: `C-${record_id}`, second_identifier: "AB" },
    procedure: { text: "Frenectomy" }, site: "upper lip", operator_id: "u1", device: { device_id: "d1", label: "Laser one" },
    started_at: "2026-11-20T23:30:00.000-06:00", flags: [], sign_off: {}, voided: null, chart: null, reattributions: [], ...more,
  } as unknown as RecordDocument;
}
const ids = (records: RecordDocument[], wanted: object): string[] => matching(records, { ...NO_FILTERS, ...wanted }, name).map((one) => one.record_id);

describe("finding records", () => {
  const all = [
    record("1"),
    record("2", { operator_id: "u2", status: "ended", sign_off: null, started_at: "2026-11-22T09:00:00.000-06:00", flags: [{ code: "x" }] }),
    record("3", { device: { device_id: "d2", label: "Laser two" }, procedure: { text: "Gingivectomy" }, chart: { version: 1 } }),
    record("4", { version: 2, status: "amended", chart: { version: 1 }, started_at: null }),
  ];

  it("wants every word, wherever it stands, without case and accents", () => {
    expect(ids(all, { words: "INIGO frenec  c-1" })).toEqual(["1"]);
    expect(ids(all, { words: "muller" })).toEqual(["2"]);
    expect(ids(all, { words: "frenectomy c-3" })).toEqual([]);
    expect(ids(all, { words: "  " })).toEqual(["1", "2", "3", "4"]);
  });

  it("narrows by everything there is to narrow by", () => {
    expect(ids(all, { status: "ended" })).toEqual(["2"]);
    expect(ids(all, { operator_id: "u2" })).toEqual(["2"]);
    expect(ids(all, { device_id: "d2" })).toEqual(["3"]);
    expect(ids(all, { procedure: "Gingivectomy" })).toEqual(["3"]);
    expect(ids(all, { flagged: true })).toEqual(["2"]);
    expect(ids(all, { not_in_chart: true })).toEqual(["1", "4"]);
    // The day on the practice's wall clock; in UTC record 1 began on the 21st.
    expect(ids(all, { from: "2026-11-20", to: "2026-11-20" })).toEqual(["1", "3"]);
    expect(ids(all, { from: "2026-11-21" })).toEqual(["2"]);
  });

  it("offers what there is to choose from", () => {
    expect(facetsOf(all)).toEqual({
      operators: ["u1", "u2"], procedures: ["Frenectomy", "Gingivectomy"],
      devices: [{ device_id: "d1", label: "Laser one" }, { device_id: "d2", label: "Laser two" }],
    });
  });

  it("waits for the chart while the present version is not in it", () => {
    expect(all.map(waitsForChart)).toEqual([true, false, false, true]);
    expect(waitsForChart(record("5", { voided: { reason: "x" } }))).toBe(false);
    expect(waitsForChart(record("6", { erased: { basis: "request" } }))).toBe(false);
  });
});

describe("what was moved away", () => {
  const from = { chart_number: "Q-77 a", second_identifier: "XY" };
  const moved = record("9", { reattributions: [{ from, to: { chart_number: "C-9", second_identifier: "AB" }, reason: "wrong card", at: "t", by: "u1", event_id: "e" }] });

  it("is told under the whole old number only, and never says where it went", () => {
    expect(movedAway([moved], "q-77 A")).toEqual([{ event_id: "e", chart_number: "Q-77 a", at: "t", by: "u1", reason: "wrong card" }]);
    expect(movedAway([moved], "q-7")).toEqual([]);
    expect(movedAway([moved], "")).toEqual([]);
    expect(JSON.stringify(movedAway([moved], "Q-77 a"))).not.toContain("C-9");
    expect(matching([moved], { ...NO_FILTERS, words: "Q-77" }, name)).toEqual([]);
  });

  it("leaves out a reason that names the right patient", () => {
    const because = (reason: string) => movedAway([{ ...moved, reattributions: [{ ...moved.reattributions[0]!, reason }] }], "Q-77 a")[0]?.reason;
    expect(because("it is C-9's")).toBeNull();
    expect(because("belongs to ab.")).toBeNull();
    expect(because("C-91 was meant, abroad")).toBe("C-91 was meant, abroad");
  });

  it("is not told of a record that is back", () => {
    expect(movedAway([{ ...moved, patient: from }], "Q-77 a")).toEqual([]);
  });
});

it("reads words as the server does", () => {
  expect(plainWords("  Ñandú ", null, "É")).toBe("nandu e");
});
