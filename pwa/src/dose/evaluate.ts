// Answer a dose request: what the settings mean, what arrives, what cannot be said and why. Gives
// what api/dose/evaluate.py gives for the same request.
import { absentReasons } from "./absence";
import { ENGINE_VERSION, resultEntry } from "./constants";
import { format_number, format_value } from "./display";
import { solveEmission } from "./emitted";
import { type DoseInput, type DoseRequest, parse } from "./request";
import { asQuantity, deliveredValues, type ResultQuantity, type Results, resultsFrom } from "./results";
import type { Clash, KnownValues } from "./solver";

export { ENGINE_VERSION } from "./constants";
export { BadInput } from "./errors";
export type { DoseInput, DoseRequest } from "./request";
export type { ResultQuantity } from "./results";

export interface Contradiction {
  fields: string[];
  given: { value: number; unit: string };
  expected: { value: number; unit: string };
  /** Relative, with its sign: 0.08 is 8 % more than the others give. */
  by: number;
  text: string;
}

export interface DoseWarning {
  code: string;
  text: string;
  sources: string[];
}

export type DoseSide = Record<string, ResultQuantity>;
export interface DeliveredFacts {
  basis: "verified";
  verified_at: string | null;
}
export type DeliveredSide = { [name: string]: ResultQuantity | string | null } & DeliveredFacts;

export interface DoseResponse {
  engine: string;
  dose: { set: DoseSide; delivered: DeliveredSide | null };
  absent: Record<string, string>;
  contradictions: Contradiction[];
  warnings: DoseWarning[];
}

const NO_RATIO = "no power verification is given: what arrives at the tissue is not known";
const KEEP_PANEL =
  "do not raise the panel to make up for a low ratio; follow the maker's instructions";
const UNUSED = "the panel's power is not used: it is not stated whether it is average or peak";
const GAPS = "the spots do not touch: fluence along the track is an average over spots and gaps";
const TIP_BOUND =
  "the spot is a lower bound: it is that of the bore's lowest mode, and a real waveguide carries " +
  "wider ones; irradiance and fluence are lower than shown if the spot is wider";
const GATE_GAPS =
  "the spot moves on while the gate is shut: fluence along the track is an average";

// The result that a given variable of the solver is; each has the same unit there and in SI.
const SHOWN_AS: Record<string, string> = {
  average_power_w: "average_power",
  overall_power_w: "average_power",
  peak_power_w: "peak_power",
  pulse_energy_j: "pulse_energy",
  pulse_duration_s: "pulse_duration",
  repetition_rate_hz: "repetition_rate",
  pulse_period_s: "pulse_period",
  duty_cycle: "duty_cycle",
};

function words(field: string): string {
  return field.replace(/^emission\./, "").replaceAll("_", " ");
}

function contradiction(clash: Clash): Contradiction {
  const name = SHOWN_AS[clash.variable] ?? clash.variable;
  const { unit } = resultEntry(name);
  const by = clash.given / clash.expected - 1;
  const others = clash.support.map(words).join(" and ");
  const text =
    `${words(clash.field)} is given as ${format_value(name, clash.given)}, but ${others} ` +
    `${clash.support.length > 1 ? "give" : "gives"} ${format_value(name, clash.expected)}: ` +
    `${format_number(Math.abs(by) * 100)} % ${by > 0 ? "more" : "less"}`;
  return {
    fields: [...clash.support, clash.field],
    given: { value: clash.given, unit },
    expected: { value: clash.expected, unit },
    by,
    text,
  };
}

function asSide(results: Results): DoseSide {
  return Object.fromEntries([...results].map(([name, r]) => [name, asQuantity(name, r)]));
}

function delivered(given: DoseInput, known: KnownValues): DeliveredSide | null {
  if (given.verified_ratio === null) return null;
  const stated = (name: string, value_si: number): ResultQuantity =>
    asQuantity(name, { value_si, formula: "given" });
  const uncertainty = given.verified_ratio_uncertainty;
  return {
    ...asSide(resultsFrom(given, deliveredValues(known, given.verified_ratio))),
    delivered_fraction: stated("delivered_fraction", given.verified_ratio),
    basis: "verified",
    verified_at: given.verified_at,
    ...(uncertainty === null
      ? {}
      : { verified_ratio_uncertainty: stated("verified_ratio_uncertainty", uncertainty) }),
  };
}

function warnings(given: DoseInput, results: Results): DoseWarning[] {
  const found: [code: string, text: string][] = [
    given.verified_ratio === null ? ["not_verified", NO_RATIO] : ["keep_panel", KEEP_PANEL],
  ];
  const unstated = given.mode !== "continuous" && given.power_kind === "not stated";
  if (unstated && given.emission.power !== undefined) {
    found.push(["power_kind_not_stated", UNUSED]);
  }
  if ((results.get("overlap")?.value_si ?? 0) < 0) found.push(["gaps", GAPS]);
  if (given.mode === "gated" && results.has("track_fluence_mean")) {
    const moved_m = (given.emission.gate_off ?? 0) * (given.speed_m_s ?? 0);
    if (moved_m > (given.spot?.diameter_m ?? 0)) found.push(["gate_gaps", GATE_GAPS]);
  }
  const notes: DoseWarning[] = found.map(([code, text]) => ({ code, text, sources: [] }));
  if (given.spot?.form === "bore") {
    notes.push({ code: "tip_lower_bound", text: TIP_BOUND, sources: ["abrams1972"] });
  }
  return notes;
}

/** Return the response of the contract for a parsed request. */
export function evaluate(given: DoseInput): DoseResponse {
  const { known, clashes } = solveEmission(given);
  const results = resultsFrom(given, known);
  return {
    engine: ENGINE_VERSION,
    dose: { set: asSide(results), delivered: delivered(given, known) },
    absent: absentReasons(given, known, results, clashes),
    contradictions: clashes.map(contradiction),
    warnings: warnings(given, results),
  };
}

/** Return the response of the contract for a request; throws BadInput with errors by field. */
export function respond(request: DoseRequest): DoseResponse {
  return evaluate(parse(request));
}
