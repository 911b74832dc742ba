import { beforeAll, describe, expect, it } from "vitest";
import { asBefore, saidBy } from "../src/screens/case/protection-form";
import { asWorn, whyNotAgain } from "../src/screens/register/worn";
import { lastNoted, offered, usedBefore, withoutUnfit, type Eyewear } from "../src/session/protection";
import type { RecordDocument } from "../src/session/record";
import type { EyewearPiece } from "../src/session/registers";
import { allWords } from "../src/text";

beforeAll(() => allWords());

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

describe("what was worn before and is not fit any more", () => {
  const piece = (eyewear_id: string, more: Partial<EyewearPiece> = {}): EyewearPiece =>
    ({ eyewear_id, label: `Goggles ${eyewear_id}`, status: "current", shortest_wavelength: "9 um", longest_wavelength: "11 um", optical_density: "5", ...more });
  const failed = { inspections: [{ event_id: "e", at: "2026-03-02T09:00:00.000+01:00", by: null, outcome: "failed" as const, note: "cracked" }] };
  const retired = { status: "retired", retired: { reason: "cracked", event_id: "e", at: "2026-03-02T09:00:00.000+01:00", by: null } };
  const pieces = [piece("1", retired), piece("2", failed), piece("3"), piece("4", { shortest_wavelength: "500 nm", longest_wavelength: "600 nm" })];
  const worn = (n: number): Eyewear => asWorn(pieces[n - 1]!);
  // Written out by hand in a record of before there was a register: no id, the same name and marking.
  const without = ({ eyewear_id: _, ...one }: Eyewear): Eyewear => one;

  it.each([[1, true], [2, true], [3, false], [4, true]])("says of piece %i whether there is something against it", (n, against) => {
    expect(whyNotAgain(worn(n), pieces, "10.6 um") !== null).toBe(against);
    expect(whyNotAgain(without(worn(n)), pieces, "10.6 um") !== null).toBe(against);
  });

  it("knows nothing against what the register does not know, nor against a new piece of the old name", () => {
    expect(whyNotAgain({ label: "Own loupes", wavelength: null, optical_density: null }, pieces, "10.6 um")).toBeNull();
    expect(whyNotAgain(without(worn(1)), [...pieces, { ...piece("9"), label: "Goggles 1" }], "10.6 um")).toBeNull();
    expect(whyNotAgain(worn(1), [...pieces, { ...piece("9"), label: "Goggles 1" }], "10.6 um")).not.toBeNull();
  });

  it("is offered to nobody", () => {
    const used = withoutUnfit(usedBefore([record("last", [
      { ...worn(1), wearer: "Dentist" }, { ...worn(3), wearer: "Assistant" }, { ...without(worn(2)), wearer: "Patient" }] as never)]), (one) => whyNotAgain(one, pieces, "10.6 um") !== null);
    for (const wearer of ["Dentist", "Assistant", "Patient"]) expect(labels(offered(used, wearer, null, 5))).toEqual(["Goggles 3"]);
  });

  it("leaves no other piece's id behind where the last case is taken over", () => {
    const form = { heads: 1, worn: [{ wearer: "Dentist", label: "Goggles 3", wavelength: "", density: "", eyewear_id: "3" }], evacuator: "", masks: "", deviations: "" };
    const before = { heads: 1, eyewear: [pair("Own loupes", "Dentist")], evacuator: null, masks: null, deviations: null };
    expect(saidBy(asBefore(form, before)).eyewear).toEqual([pair("Own loupes", "Dentist")]);
  });
});
