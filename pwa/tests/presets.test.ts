import { describe, expect, it } from "vitest";
import { compared, foundBy, matches, usedLast } from "../src/session/presets";
import type { RecordDocument } from "../src/session/fold";
import type { Preset } from "../src/session/types";

const PRESET: Preset = {
  preset_id: "p1", version: 2, name: "Frénulo, fino", procedure_kind_id: "k1", device_id: "d1", handpiece_id: "h1",
  settings: {
    wavelength: "10.6 um",
    emission: { mode: "pulsed", power: "3.5 W", power_kind: "average", pulse_duration: "250 us", repetition_rate: "120 Hz" },
    spot: { diameter: "0.25 mm", diameter_definition: "1/e2" },
  },
  spot_known: "label", focus: "focused", coolant: "air", note: "After review", reviewed_by: "a",
};
const TEXT = foundBy(PRESET, ["Labial frenectomy", "Laser with arm", "Fine tip", null]);

describe("finding a preset", () => {
  it.each([
    ["", true], ["frenulo", true], ["FRÉN", true], ["labial arm", true], ["arm labial", true], ["fine tip", true],
    ["review", true], ["gingiva", false], ["labial gingiva", false],
    // A value with its unit is just that value, in any way of writing it.
    ["3.5 W", true], ["3,5 w", true], ["3.5W", true], ["250 µs", true], ["250us", true], ["120 hz fine", true],
    ["3 W", false], ["5 W", false], ["0.5 W", false], ["25 us", false], ["120 us", false],
    // A number alone is the beginning of one, never its middle.
    ["25", true], ["250", true], ["50", false], ["12", true], ["0.25", true],
  ])("%s: %s", (typed, found) => expect(matches(TEXT, typed)).toBe(found));

  it("does not find one value in another", () => {
    const other = foundBy({ ...PRESET, settings: { ...PRESET.settings, emission: { mode: "pulsed", power: "13.5 W" } } }, []);
    expect(matches(other, "3.5 W")).toBe(false);
  });
});

describe("what a person used last", () => {
  const record = (passes: [string | null, string, string][]) => ({
    history: passes.map(([, by], i) => ({ event_id: `e${i}`, by })),
    passes: passes.map(([preset_id, , started_at], i) => ({
      event_id: `e${i}`, started_at, preset: preset_id === null ? null : { preset_id, version: 1, name: preset_id },
    })),
  }) as unknown as RecordDocument;

  it("is in the order of use, the last first, each once, and only this person's", () => {
    const records = [
      record([["a", "me", "2026-03-02T09:00:00.000+01:00"], ["b", "me", "2026-03-02T09:10:00.000+01:00"]]),
      // 08:05 UTC is 09:05 +01:00: between the two above.
      record([["a", "me", "2026-03-02T08:05:00.000+00:00"], ["c", "you", "2026-03-02T12:00:00.000+01:00"], [null, "me", "2026-03-02T13:00:00.000+01:00"]]),
    ];
    expect(usedLast(records, "me")).toEqual(["b", "a"]);
    expect(usedLast(records, "you")).toEqual(["c"]);
    expect(usedLast([], "me")).toEqual([]);
  });
});

describe("two presets side by side", () => {
  const other: Preset = {
    ...PRESET, note: null,
    settings: { ...PRESET.settings, emission: { ...PRESET.settings.emission, power: "3.50 W", pulse_duration: "300 us" }, motion: { speed: "5 mm/s" } },
  };
  const rows = compared(PRESET, other);

  it("shows every field of either, and just the fields that differ as differing", () => {
    expect(rows.filter((row) => row.differs).map(({ path, left, right }) => [path, left, right])).toEqual([
      ["emission.pulse_duration", "250 us", "300 us"], ["motion.speed", null, "5 mm/s"], ["note", "After review", null],
    ]);
    expect(rows.map((row) => row.path)).toContain("emission.power");
  });

  it("says of one and the same that nothing differs", () => {
    expect(compared(PRESET, { ...PRESET }).filter((row) => row.differs)).toEqual([]);
  });
});
