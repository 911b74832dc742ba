// What papers report of settings, and what can be worked out from it; see api/dose/published.py.
// Cases, never advice.
import { PUBLISHED } from "./published_table";
import type { DoseRequest } from "./schema";

export interface ReportedCase {
  id: string;
  procedure: string;
  evidence: string;
  n: number | null;
  wavelengths_um: readonly number[];
  powers_w: readonly number[];
  power_kind: string;
  mode: string;
  pulse_duration_s: number | null;
  repetition_rate_hz: number | null;
  pulse_energy_j: number | null;
  spot_mm: number | null;
  focus: string;
  exposure: string | null;
  exposure_s: number | null;
  result: string;
  citation: string;
  read: string;
  from_memory: string | null;
}

export interface Reading { power_w: number; power_kind: "average" | "peak"; request: DoseRequest }

const SINGLE = ["single pulses", "single shot"];

/** Return the reported cases, in the order of the file. */
export function cases(): readonly ReportedCase[] {
  return PUBLISHED.cases as unknown as readonly ReportedCase[];
}

/** Return the kinds of power that the print may mean: both where it does not say. */
export function power_kinds(one: ReportedCase): ("average" | "peak")[] {
  if (SINGLE.includes(one.mode)) return ["peak"];
  if (one.mode === "continuous" || one.power_kind === "average") return ["average"];
  return one.mode === "pulsed" ? ["average", "peak"] : [];
}

/** Return a dose request for each way to read what is printed; none where too little is stated. */
export function readings(one: ReportedCase): Reading[] {
  if (one.wavelengths_um.length !== 1) return [];
  return one.powers_w.flatMap((power_w) =>
    power_kinds(one).map((power_kind) => ({ power_w, power_kind, request: requestOf(one, power_w, power_kind) })));
}

function requestOf(one: ReportedCase, power_w: number, kind: "average" | "peak"): DoseRequest {
  const request: DoseRequest = { wavelength: `${one.wavelengths_um[0]} um`, emission: emissionOf(one, power_w, kind) };
  if (one.spot_mm !== null) request.spot = { diameter: `${one.spot_mm} mm`, diameter_definition: "1/e2" };
  if (one.exposure_s !== null) request.emission_time = `${one.exposure_s} s`;
  return request;
}

function emissionOf(one: ReportedCase, power_w: number, kind: "average" | "peak"): DoseRequest["emission"] {
  if (one.mode === "continuous") return { mode: "continuous", power: `${power_w} W` };
  const emission: DoseRequest["emission"] = { mode: "pulsed", [`${kind}_power`]: `${power_w} W` };
  if (one.pulse_duration_s !== null) emission.pulse_duration = `${one.pulse_duration_s} s`;
  if (one.repetition_rate_hz !== null) emission.repetition_rate = `${one.repetition_rate_hz} Hz`;
  return emission;
}
