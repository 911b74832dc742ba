import { describe, expect, it } from "vitest";
import { lastNoted, offered, usedBefore } from "../src/session/protection";
import type { RecordDocument } from "../src/session/record";

const pair = (label: string, wearer: string, density: string | null = "5") => ({ label, wearer, wavelength: "10.6 um", optical_density: density });
const record = (record_id: string, eyewear: ReturnType<typeof pair>[], more: object = {}): RecordDocument =>
  ({ record_id, status: "signed", device: { device_id: "laser" }, protection: { heads: 2, eyewear, evacuator: "on", masks: null, deviations: null }, ...more }) as never;
const labels = (found: readonly { label: string }[]) => found.map((one) => one.label);

// Newest first, as every list of records is.
const records = [
  record("now", [], { protection: null, status: "draft" }),
  record("void", [pair("Goggles 1", "Dentist")], { status: "void" }),
  record("last", [pair("Goggles 3", "Dentist"), pair("Shield 1", "Patient")]),
  record("older", [pair("Goggles 4", "Dentist"), pair("Goggles 3", "Assistant")], { device: { device_id: "other laser" } }),
  record("oldest", [pair("Goggles 3", "Assistant", "6")]),
];

describe("what protected people here before", () => {
  it("names each pair once, what was worn last first, and nothing of a void record", () => {
    const used = usedBefore(records);
    expect(labels(used.eyewear)).toEqual(["Goggles 3", "Shield 1", "Goggles 4", "Goggles 3"]);
    // The same name with another mark is another pair.
    expect(used.eyewear.map((one) => one.optical_density)).toEqual(["5", "5", "5", "6"]);
    expect(used.worn_by.get("Dentist")?.label).toBe("Goggles 3");
    expect(used.evacuators).toEqual(["on"]);
    expect(used.masks).toEqual([]);
  });

  it("finds the last record with the same laser", () => {
    expect(lastNoted(records, records[0]!)?.record_id).toBe("last");
    expect(lastNoted(records, records[2]!)?.record_id).toBe("oldest");
    expect(lastNoted([], records[0]!)).toBeNull();
  });

  it("offers everybody their own first, and never hides what was chosen", () => {
    const used = usedBefore(records);
    expect(labels(offered(used, "Patient", null, 2))).toEqual(["Shield 1", "Goggles 3"]);
    expect(labels(offered(used, "Nobody known", null, 9))).toEqual(["Goggles 3", "Shield 1", "Goggles 4", "Goggles 3"]);
    const chosen = { label: "Goggles 4", wavelength: "10.6 um", optical_density: "5" };
    expect(labels(offered(used, "Patient", chosen, 2))).toEqual(["Shield 1", "Goggles 4"]);
    // Written out, not used before: it stands in its fields, not among the taps.
    expect(labels(offered(used, "Patient", { ...chosen, label: "New" }, 2))).toEqual(["Shield 1", "Goggles 3"]);
  });
});
