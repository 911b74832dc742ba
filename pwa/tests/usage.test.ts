import { describe, expect, it } from "vitest";
import vectors from "../../tests/vectors/usage.json";
import type { RecordDocument } from "../src/session/fold";
import { median, usageOf } from "../src/session/usage";

type Row = [string, string, string, string, string, [number, number, number, number | null, number | null, string | null][], string];

function record([record_id, status, kind, device, tip, passes, started_at]: Row): RecordDocument {
  return {
    record_id, status, procedure: { procedure_kind_id: kind },
    device: { device_id: device, label: `Label of ${device}` },
    handpiece: { handpiece_id: tip, label: `Label of ${tip}` },
    passes: passes.map(([laser_on_s, average_power, irradiance_mean, fluence_mean, delivered, own]) => ({
      laser_on_s, started_at, handpiece: own ? { handpiece_id: own, label: `Label of ${own}` } : null,
      dose: {
        set: { average_power, irradiance_mean, ...(fluence_mean === null ? {} : { fluence_mean }) },
        delivered: delivered === null ? null : { average_power: delivered },
      },
    })),
  } as unknown as RecordDocument;
}

describe("what was used here before", () => {
  it("is what the vectors say", () => {
    const records = (vectors.records as unknown as Row[]).map(record);
    expect(usageOf(records, vectors.procedure_kind_id)).toEqual(vectors.expected);
  });

  it("is nothing where nothing was used", () => {
    expect(usageOf([], "frenum")).toEqual({ procedure_kind_id: "frenum", records: 0, groups: [] });
  });
});

describe("the median", () => {
  // By hand; numbers in the order of their size, not of their text: 10 comes after 9.
  it.each([[[7], 7], [[3, 1, 2], 2], [[10, 9, 1], 9], [[4, 1, 3, 2], 2.5], [[100, 9, 10, 1], 9.5]])("of %j is %d", (values, middle) => {
    expect(median(values)).toBe(middle);
  });
  it("needs a value", () => expect(() => median([])).toThrow(RangeError));
});
