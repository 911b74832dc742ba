/** The registers on a tablet: what it said itself, what is lacking, forms, labels and tables. */
import { readFileSync } from "node:fs";
import { beforeAll, describe, expect, it } from "vitest";
import { labelText, readLabel } from "../src/session/label-code";
import { withSaid } from "../src/session/own-register";
import { covers, lacking, type EyewearPiece } from "../src/session/registers";
import type { Device } from "../src/session/types";
import { csv } from "../src/screens/register/csv";
import { filled, FORMS, valuesOf, type Values } from "../src/screens/register/fields";
import { codeModules } from "../src/screens/register/label-code-path";
import { cellOf, LEAST_MODULE_MM, moduleMm, PAGES, perPage, SHEETS, wrapped } from "../src/screens/register/label-sheets";
import { decodePixels } from "../src/screens/register/scan-frame";
import { allWords } from "../src/text";

beforeAll(() => allWords());

const said = (event_id: string, type: string, payload: Record<string, unknown>, outcome?: string) => ({
  body: { event_id, type, entity_id: "k1", occurred_at: `2026-03-0${event_id.slice(1)}T09:00:00.000+01:00`, actor_id: "p1" } as never,
  payload, result: outcome ? { outcome } as never : null as never,
});
const KEY = ["key.registered", "key.moved", "key.retired"];

describe("what this tablet said of a thing", () => {
  it("counts before the server has sent it back, and once only after that", () => {
    const events = [said("e1", "key.registered", { label: "A" }), said("e2", "key.moved", { direction: "out" })];
    const here = withSaid(null, events, KEY)!;
    expect(here).toMatchObject({ key_id: "k1", label: "A", status: "current" });
    expect(here["movements"]).toHaveLength(1);
    expect(withSaid(here, events, KEY)).toEqual(here);
  });

  it("does not bring back what the server has had changed since", () => {
    const changed = { key_id: "k1", label: "B", status: "current", event_id: "e5" };
    expect(withSaid(changed, [said("e1", "key.registered", { label: "A" }), said("e3", "key.retired", { reason: "lost" })], KEY)).toEqual(changed);
  });

  it("does not count what the server refused or put aside", () => {
    expect(withSaid(null, [said("e1", "key.registered", { label: "A" }, "quarantined")], KEY)).toBeNull();
    expect(withSaid(null, [said("e1", "key.registered", { label: "A" }, "applied")], KEY)).not.toBeNull();
  });
});

const piece = (more: Partial<EyewearPiece> = {}): EyewearPiece => ({
  eyewear_id: "g", label: "G", status: "current", shortest_wavelength: "9000 nm", longest_wavelength: "11500 nm", optical_density: "5", room_id: "r1", ...more,
});
const laser = { device_id: "d", label: "L", wavelength: "10.6 um", room_id: "r1" } as Device;

describe("eyewear", () => {
  // 10.6 um = 10600 nm; the ends of a marked range belong to it (EN 207: the range is as printed).
  it.each([["10.6 um", true], ["9000 nm", true], ["11.5 um", true], ["8999 nm", false], ["11501 nm", false], ["red", null]])("is marked for %s: %s", (wavelength, fits) => {
    expect(covers(piece(), wavelength)).toBe(fits);
  });

  it("lacks where fewer fit pieces than heads are in a room", () => {
    const bad = [piece({ status: "retired" }), piece({ room_id: "r2" }), piece({ longest_wavelength: "10 um" }), piece({ optical_density: "3.3" }),
      piece({ inspections: [{ event_id: "e", at: "2026-03-02T09:00:00.000+01:00", by: null, outcome: "failed", note: "cracked" }] })];
    expect(lacking([...bad, piece(), piece()], [laser], () => 3, () => 3.4)).toEqual([{ room_id: "r1", device: laser, good: 2, heads: 3, density: 3.4 }]);
    expect(lacking([...bad, piece(), piece(), piece()], [laser], () => 3, () => 3.4)).toEqual([]);
    // Without a decision about the room only the marked wavelength can be judged: the piece of density 3.3 counts.
    expect(lacking([...bad, piece(), piece()], [laser], () => 3, () => null)).toEqual([]);
    expect(lacking([], [{ ...laser, room_id: null }], () => 3, () => null)).toEqual([]);
  });
});

const typed = (values: Record<string, string>): Values =>
  Object.fromEntries(Object.entries(values).map(([path, text]) => { const [raw = "", unit = ""] = text.split("|"); return [path, { raw, unit }]; }));

describe("a form of a register", () => {
  const eyewear = { label: "G 1", shortest_wavelength: "9000|nm", longest_wavelength: "11,5|um", optical_density: "5,5" };
  it("says quantities with a point, whatever was typed", () => {
    expect(filled(FORMS.eyewear, typed(eyewear), "2026-03-02")).toEqual({ wrong: {}, payload: {
      label: "G 1", shortest_wavelength: "9000 nm", longest_wavelength: "11.5 um", optical_density: "5.5", marking: null, room_id: null, note: null } });
  });
  it.each([
    [{ label: "" }, { label: "missing" }],
    [{ optical_density: "much" }, { optical_density: "unreadable" }],
    [{ optical_density: "1,500" }, { optical_density: "unreadable" }],
    [{ longest_wavelength: "8,9|um" }, { longest_wavelength: "order" }],
    [{ shortest_wavelength: "0|nm" }, { shortest_wavelength: "range" }],
  ])("names the field: %o", (change, wrong) => {
    expect(filled(FORMS.eyewear, typed({ ...eyewear, ...change }), "2026-03-02").wrong).toEqual(wrong);
  });

  const meter = { label: "M", serial: "7", calibrated_on: "2026-03-02", due_on: "", uncertainty: "5|%" };
  it.each([["5", "0.05"], ["2,5", "0.025"], ["10", "0.1"], ["0,3", "0.003"]])("says %s %% as a ratio", (percent, ratio) => {
    expect(filled(FORMS.meter, typed({ ...meter, uncertainty: `${percent}|%` }), "2026-03-02").payload["uncertainty"]).toBe(ratio);
  });
  it("takes no calibration that lies ahead, nor one that is due before it was made", () => {
    expect(filled(FORMS.meter, typed({ ...meter, calibrated_on: "2026-03-03", due_on: "2026-03-03" }), "2026-03-02").wrong).toEqual({ calibrated_on: "ahead", due_on: "order" });
  });

  const device = { label: "L", maker: "M", model: "N", serial: "1", wavelength: "10.6|um", laser_class: "4", delivery_part: "articulated arm", modes: "continuous,pulsed" };
  it("keeps the limits of a laser by name and end, and compares them in one unit", () => {
    const { payload, wrong } = filled(FORMS.device, typed({ ...device, "limits.average_power.min": "500|mW", "limits.average_power.max": "20|W", "limits.gate_on.min": "2|s", "limits.gate_on.max": "900|ms" }), "2026-03-02");
    expect(payload["limits"]).toEqual({ average_power: { min: "500 mW", max: "20 W" }, gate_on: { min: "2 s", max: "900 ms" } });
    expect(payload["modes"]).toEqual(["continuous", "pulsed"]);
    expect(payload["beam"]).toBeUndefined();
    expect(wrong).toEqual({ "limits.gate_on.max": "order" });
  });
  it("brings back what is registered as it was", () => {
    const known = { label: "L", maker: "M", model: "N", serial: "1", wavelength: "10.6 um", laser_class: "4", delivery_part: "hollow waveguide", modes: ["pulsed"], room_id: "r1",
      limits: { duty_cycle: { max: "1" }, peak_power: { min: "1 W", max: "120 W" } }, beam: { diameter: "6 mm", diameter_known: "measured" } };
    expect(filled(FORMS.device, valuesOf(FORMS.device, known), "2026-03-02")).toEqual({ payload: known, wrong: {} });
  });
  it("needs a whole number of uses", () => {
    const tip = { label: "T", device_id: "d", kind: "waveguide tip", spot_diameter: "0.4|mm", diameter_definition: "1/e2", spot_known: "label" };
    expect(filled(FORMS.handpiece, typed({ ...tip, use_limit: "2.5" }), "2026-03-02").wrong).toEqual({ use_limit: "whole" });
    expect(filled(FORMS.handpiece, typed({ ...tip, use_limit: "20" }), "2026-03-02").payload["use_limit"]).toBe(20);
  });
});

describe("a label", () => {
  interface Code { text: string; masks: string[][] }
  const { cases } = JSON.parse(readFileSync(new URL("../../tests/vectors/label_codes.json", import.meta.url), "utf8")) as { cases: Code[] };

  it("says a kind and an id of ours, and no other code is taken for one", () => {
    expect(readLabel(labelText({ kind: "eyewear", id: "g-1" }))).toEqual({ kind: "eyewear", id: "g-1" });
    for (const other of ["https://example.org/dosebook:eyewear:g1", "dosebook:person:p1", "dosebook:eyewear:", "dosebook:eyewear:a b", `dosebook:device:${"x".repeat(65)}`, "4006381333931"]) {
      expect(readLabel(other)).toBeNull();
    }
  });

  it.each(cases)("has the modules that another library draws: $text", ({ text, masks }) => {
    const rows = codeModules(text).map((row) => row.map((dark) => (dark ? "1" : "0")).join(""));
    expect(masks).toContainEqual(rows);
  });

  it.each(cases)("is read from another library's drawing: $text", async ({ text, masks }) => {
    for (const rows of masks) expect(await decodePixels(picture(rows, 4))).toBe(text);
  });

  it("is not read where there is none", async () => {
    expect(await decodePixels(picture(Array.from({ length: 20 }, () => "0".repeat(20)), 4))).toBeNull();
  });

  /** Modules as pixels with the quiet zone of four modules that the standard asks for. */
  function picture(rows: readonly string[], size: number) {
    const side = (rows.length + 8) * size;
    const data = new Uint8ClampedArray(side * side * 4).fill(255);
    for (let y = 0; y < side; y += 1) for (let x = 0; x < side; x += 1) {
      if (rows[Math.floor(y / size) - 4]?.[Math.floor(x / size) - 4] === "1") data.fill(0, (y * side + x) * 4, (y * side + x) * 4 + 3);
    }
    return { width: side, height: side, data };
  }

  it.each(SHEETS)("lies on its page: $id", (sheet) => {
    const [width, height] = PAGES[sheet.page];
    const cells = Array.from({ length: perPage(sheet) }, (_, n) => cellOf(sheet, n, 0));
    for (const { x_mm, y_mm, page } of cells) {
      expect(page).toBe(0);
      expect(x_mm).toBeGreaterThanOrEqual(0);
      expect(y_mm).toBeGreaterThanOrEqual(0);
      expect(x_mm + sheet.label_mm[0]).toBeLessThanOrEqual(width + 1e-9);
      expect(y_mm + sheet.label_mm[1]).toBeLessThanOrEqual(height + 1e-9);
    }
    expect(new Set(cells.map(({ x_mm, y_mm }) => `${x_mm} ${y_mm}`)).size).toBe(perPage(sheet));
    expect(cellOf(sheet, 0, perPage(sheet) - 1)).toEqual(cells.at(-1));
    expect(cellOf(sheet, 1, perPage(sheet) - 1)).toEqual({ ...cells[0], page: 1 });
  });

  // By hand from ISO/IEC 18004, byte mode, level M: our longest text, with an id of 36 letters, has 55 bytes, for which
  // version 4 (62 bytes) is enough: 33 modules, and 41 with a quiet zone of four on each side. With the longest id that may
  // be (64 letters) it is version 5 (84 bytes): 37 and 45. 0.4 mm is a common rule of thumb, no source.
  it.each(SHEETS)("has modules that a camera can tell apart: $id", (sheet) => {
    for (const [letters, modules] of [[36, 33], [64, 37]] as const) {
      expect(codeModules(labelText({ kind: "handpiece", id: "a".repeat(letters) })).length).toBe(modules);
      expect(moduleMm(sheet, modules) * (modules + 8)).toBeLessThanOrEqual(sheet.label_mm[1]);
      expect(moduleMm(sheet, modules)).toBeGreaterThanOrEqual(LEAST_MODULE_MM);
    }
  });

  it("would have too small ones on labels of 44.5 x 12.7 mm: (12.7 - 3) / 41 is 0.24 mm", () => {
    const small = { ...SHEETS[0]!, label_mm: [44.5, 12.7] as const };
    expect(moduleMm(small, 33)).toBeCloseTo(9.7 / 41, 6);
    expect(LEAST_MODULE_MM).toBe(0.4);
  });

  it("is centred: A4 with 3 x 8 labels of 70 x 37 mm leaves 0 mm at the sides and (297 - 296) / 2 above", () => {
    expect(cellOf(SHEETS.find(({ id }) => id === "a4-3x8")!, 4, 0)).toEqual({ page: 0, x_mm: 70, y_mm: 37.5 });
  });

  it("breaks words where there is a blank, and says that it goes on", () => {
    expect(wrapped("Handpiece, fine focus", 12, 3)).toEqual(["Handpiece,", "fine focus"]);
    expect(wrapped("Handpiece, fine focus", 12, 1)).toEqual(["Handpiece,…"]);
    expect(wrapped("Waveguidetipwithoutblank", 10, 2)).toEqual(["Waveguidet", "ipwithout…"]);
    // Beside the code of a small label there may be no room at all.
    expect(wrapped("Handpiece, fine focus", 12, 0)).toEqual([]);
  });
});

describe("a table for spreadsheets", () => {
  // OWASP "CSV Injection": =, +, -, @, tab and carriage return begin a formula, full-width forms too.
  it.each(["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", " =1", "＝1", "=HYPERLINK(\"http://x\")"])("runs nothing of %j", (text) => {
    const line = csv([[text]]).slice(1);
    expect(line.replace(/^"/, "").startsWith("'")).toBe(true);
  });
  it("quotes as RFC 4180 says, and leaves plain words alone", () => {
    expect(csv([["a", "b,c", "say \"x\"", "two\nlines", null, 3]])).toBe("\ufeffa,\"b,c\",\"say \"\"x\"\"\",\"two\nlines\",,3\r\n");
  });
});
