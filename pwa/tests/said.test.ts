import { readdirSync, readFileSync } from "node:fs";
import { afterEach, describe, expect, it } from "vitest";
import { check_limits } from "../src/dose/limits";
import { respond } from "../src/dose/evaluate";
import { recognise, said } from "../src/parts/said";
import { showLanguage } from "../src/text";

type Answer = { absent: Record<string, string>; warnings: { text: string }[]; contradictions: { text: string }[] };

const SPOT = { diameter: "0.2 mm", diameter_definition: "1/e2" };
const PULSED = { mode: "pulsed", power: "3 W", power_kind: "average", pulse_duration: "250 us", repetition_rate: "120 Hz" };
/** Requests of every kind, so that the engine says whatever it has to say. */
const REQUESTS: object[] = [
  { wavelength: "10.6 um", emission: PULSED, spot: SPOT },
  { wavelength: "10.6 um", emission: PULSED, spot: SPOT, motion: { speed: "100 mm/s" }, emission_time: "10 s", delivery: { verified_ratio: "0.9" } },
  { wavelength: "10.6 um", emission: { ...PULSED, power_kind: "not stated" }, spot: SPOT },
  { wavelength: "10.6 um", emission: { ...PULSED, pulse_energy: "40 mJ" }, spot: SPOT },
  { wavelength: "10.6 um", emission: { ...PULSED, pulse_energy: "10 mJ" }, spot: SPOT },
  { wavelength: "10.6 um", emission: { ...PULSED, pulse_period: "20 ms" } },
  { wavelength: "10.6 um", emission: { mode: "continuous", power: "4 W" }, spot: SPOT, motion: { speed: "5 mm/s" } },
  { wavelength: "10.6 um", emission: { mode: "gated", power: "4 W", power_kind: "peak", gate_on: "20 ms", gate_off: "80 ms" }, spot: SPOT, motion: { speed: "20 mm/s" } },
  { wavelength: "10.6 um", emission: { mode: "gated", power: "4 W", power_kind: "average", gate_on: "20 ms", gate_off: "80 ms", pulse_duration: "300 us", repetition_rate: "130 Hz", pulse_shape: "gaussian" }, spot: SPOT },
  { wavelength: "10.6 um", emission: { mode: "continuous", power: "4 W" }, spot: { bore_diameter: "0.25 mm", distance: "1 mm" } },
  { wavelength: "9.3 um", emission: { mode: "continuous", power: "4 W" }, spot: { waist_diameter: "0.2 mm", beam_quality_m2: "1.2", defocus: "2 mm" }, delivery: { mirror_count: "7", mirror_reflectance: "0.98" } },
  { wavelength: "10.6 um", emission: { mode: "continuous", power: "4 W" }, spot: SPOT, tissue: { kind: "oral mucosa", water_fraction: "0.75", density: "1.06 g/cm^3" } },
  { wavelength: "10.6 um", emission: PULSED, spot: SPOT, tissue: { water_fraction: "0.75" } },
];
const BAD: object[] = [
  { wavelength: "10.6 um", emission: { mode: "continuous", power: "4 W", gate_on: "20 ms" } },
  { wavelength: "10.6 um", emission: { mode: "continuous", power: "4 W", pulse_duration: "20 ms" } },
  { wavelength: "10.6 um", emission: { mode: "continuous" } },
  { wavelength: "10.6 um", emission: { ...PULSED, pulse_duration: "20 ms" } },
  { wavelength: "10.6 um", emission: { mode: "pulsed", average_power: "9 W", peak_power: "3 W", pulse_duration: "1 ms" } },
  { wavelength: "10.6 um", emission: { ...PULSED, power: "3 kg", pulse_duration: "fast", repetition_rate: "-" }, spot: { ...SPOT, diameter: "1 s" }, motion: { speed: "1 W" } },
  { wavelength: "10.6 um", emission: { ...PULSED, power: "9e99 W", power_kind: "sometimes", odd: "1" }, emission_time: null, spot: { diameter: "0.2 mm" } },
  { wavelength: "10.6 um", emission: PULSED, delivery: { verified_at: "2026-11-25" }, spot: { ...SPOT, defocus: "1 mm" } },
  { wavelength: "10.6 um", emission: PULSED, spot: "small", delivery: { verified_ratio: "1", verified_at: "yesterday" } },
];

function everything(): string[] {
  const found = new Set<string>();
  for (const request of REQUESTS) {
    const answer = respond(request as never) as unknown as Answer;
    for (const text of [...Object.values(answer.absent), ...[...answer.warnings, ...answer.contradictions].map(({ text }) => text)]) found.add(text);
  }
  for (const request of BAD) {
    try {
      respond(request as never);
      throw new Error(`taken: ${JSON.stringify(request)}`);
    } catch (problem) {
      const { errors } = problem as { errors?: Record<string, string[]> };
      if (!errors) throw problem;
      for (const text of Object.values(errors).flat()) found.add(text);
    }
  }
  const limits = { average_power: { min: "4 W", max: "20 W" }, repetition_rate: { max: "100 Hz" } };
  for (const text of Object.values(check_limits(REQUESTS[0] as never, limits as never))) found.add(text);
  return [...found];
}

describe("the dose engine in another language", () => {
  afterEach(() => showLanguage("en"));

  it("has every sentence that the engine answers under a code", () => {
    const all = everything();
    expect(all.length).toBeGreaterThan(30);
    expect(all.filter((text) => recognise(text) === null)).toEqual([]);
  });

  it("has every sentence that stands in the engine's constants under a code", () => {
    // Sentences only for whoever writes a request by hand: no screen can bring them about.
    const by_hand = new Set(["must not be negative"]);
    const folder = new URL("../src/dose/", import.meta.url);
    const constants = readdirSync(folder).filter((name) => /^(absence|notes|tissue_results|emitted|request|schema)\.ts$/.test(name)).flatMap((name) =>
      [...readFileSync(new URL(name, folder), "utf-8").matchAll(/^const [A-Z_]+ =\s*((?:"[^"]*"[\s+]*)+);/gm)].map(([, pieces]) =>
        [...pieces!.matchAll(/"([^"]*)"/g)].map(([, piece]) => piece).join("")));
    const sentences = constants.filter((text) => / [a-z]+ /.test(text) && !text.startsWith(";") && !by_hand.has(text));
    expect(sentences.length).toBeGreaterThan(25);
    expect(sentences.filter((text) => recognise(text) === null)).toEqual([]);
  });

  it("says them with the same numbers in the language's form", async () => {
    const limit = "average power 24.5 W is above the device's most, 20 W";
    const contradiction = "pulse energy is given as 40 mJ, but average power and repetition rate give 25 mJ: 60 % more";
    expect(said(limit)).toBe(limit);
    await showLanguage("es");
    expect(said(limit)).toBe("potencia media 24,5 W supera el máximo del equipo, 20 W");
    expect(said(contradiction)).toBe("energía del pulso se da como 40 mJ, pero con potencia media y frecuencia de repetición resulta 25 mJ: 60 % más");
    expect(said("no speed is stated")).toBe("no se indica la velocidad");
  });

  it("leaves what it does not know as it is", async () => {
    await showLanguage("es");
    expect(recognise("the moon is full")).toBeNull();
    expect(said("the moon is full")).toBe("the moon is full");
  });
});
