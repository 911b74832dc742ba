import { readdirSync, readFileSync } from "node:fs";
import { afterEach, describe, expect, it } from "vitest";
import { RESULTS } from "../src/dose/constants";
import { check_limits } from "../src/dose/limits";
import { respond } from "../src/dose/evaluate";
import { respond as hazard } from "../src/dose/hazard/evaluate";
import { recognise, said, sentence } from "../src/parts/said";
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
const LIT = { wavelength: "10.6 um", exposure_time: "10 s", emission: { power: "10 W" } };
const PULSES = { pulse_energy: "100 mJ", pulse_duration: "1 ms", repetition_rate: "10 Hz" };
const HAZARDS: object[] = [
  LIT, { ...LIT, wavelength: "532 nm", exposure_time: "20 s" }, { ...LIT, wavelength: "200 um" }, { ...LIT, emission: { power: "1 MW" } },
  { wavelength: "10.6 um", emission: { pulse_energy: "1 J", pulse_duration: "1 s" } }, { ...LIT, exposure_time: "20 ps" },
  { wavelength: "650 nm", emission: { pulse_energy: "1 nJ", pulse_duration: "20 ps" }, edition: "2006/25/EC" },
];
const BAD_HAZARDS: object[] = [
  {}, { ...LIT, emission: {} }, { ...LIT, emission: { ...PULSES, power: "3 W" } }, { ...LIT, emission: { ...PULSES, pulse_duration: "1 s" } },
  { ...LIT, exposure_time: "0.5 ms", emission: PULSES }, { ...LIT, emission: { pulse_energy: "1 J", pulse_duration: "1 s" } },
  { ...LIT, emission: { pulse_energy: "1 J" } }, { ...LIT, wavelength: "200 nm", eyewear: { beam_size_factor: "on", material: "paper" } },
  { ...LIT, skin: { exposed_area: "1 W" }, beam: { full_divergence: "4 rad" }, reflection: { reflectance: "2", angle: "1 W" } },
  { ...LIT, beam: { full_divergence: "1 mrad" }, lens: { focal_length: "1 s" }, odd: 1, tip: null },
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
  for (const request of HAZARDS) for (const text of Object.values(hazard(request).absent)) found.add(text);
  for (const request of BAD_HAZARDS) {
    try {
      hazard(request);
    } catch (problem) {
      for (const text of Object.values((problem as { errors: Record<string, string[]> }).errors).flat()) found.add(text);
      continue;
    }
    throw new Error(`taken: ${JSON.stringify(request)}`);
  }
  for (const { note } of Object.values(RESULTS)) if (note !== undefined) found.add(note);
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
    const files = [
      ...readdirSync(folder).filter((name) => /^(absence|notes|tissue_results|emitted|request|schema)\.ts$/.test(name)),
      // What stands beside a zone as a caution has its words among those of the rooms, by its code.
      ...["evaluate", "request", "schema"].map((name) => `hazard/${name}.ts`),
    ];
    const constants = files.flatMap((name) =>
      [...readFileSync(new URL(name, folder), "utf-8").matchAll(/^const [A-Z_]+ =\s*((?:"[^"]*"[\s+]*)+);/gm)].map(([, pieces]) =>
        [...pieces!.matchAll(/"([^"]*)"/g)].map(([, piece]) => piece).join("")));
    const sentences = constants.filter((text) => / [a-z]+ /.test(text) && !text.startsWith(";") && !by_hand.has(text));
    expect(sentences.length).toBeGreaterThan(25);
    expect(sentences.filter((text) => recognise(text) === null)).toEqual([]);
  });

  it("says them with the same numbers in the language's form", async () => {
    const limit = "average power 24.5 W is above the device's maximum, 20 W";
    const contradiction = "pulse energy is given as 40 mJ, but average power and repetition rate give 25 mJ: 60 % more";
    expect(said(limit)).toBe(limit);
    await showLanguage("es");
    expect(said(limit)).toBe("potencia media 24,5 W supera el máximo del equipo, 20 W");
    expect(said(contradiction)).toBe("energía del pulso se da como 40 mJ, pero con potencia media y frecuencia de repetición resulta 25 mJ: 60 % más");
    expect(said("no speed is stated")).toBe("no se indica la velocidad");
  });

  it("shows units by their symbols", () => {
    expect(sentence("below 1.4 um soft tissue absorbs too little for a result on depth")).toBe("Below 1.4\u00a0µm soft tissue absorbs too little for a result on depth.");
    expect(sentence('must be an area, such as "100 cm^2"')).toBe('Must be an area, such as "100 cm²".');
    expect(sentence('must be a time, such as "400 us"')).toBe('Must be a time, such as "400\u00a0µs".');
  });

  it("leaves what it does not know as it is", async () => {
    await showLanguage("es");
    expect(recognise("the moon is full")).toBeNull();
    expect(said("the moon is full")).toBe("the moon is full");
  });
});
