// Answer a dose request: what the settings mean, what arrives, what cannot be said and why. Gives
// what api/dose/evaluate.py gives for the same request.
import { absentReasons } from "./absence";
import { type Basis, basisOf } from "./arrival";
import { ENGINE_VERSION, resultEntry } from "./constants";
import { format_number, format_value } from "./display";
import { refusedFields, solveEmission } from "./emitted";
import { type DoseWarning, notes } from "./notes";
import { type DoseInput, type DoseRequest, parse } from "./request";
import { asQuantity, type ResultQuantity } from "./results";
import { deliveredSide, panelSide, type Side } from "./sides";
import type { Clash } from "./solver";
import type { Results } from "./steps";
import { type Intervals, intervals } from "./uncertainty";

export { ENGINE_VERSION } from "./constants";
export { BadInput } from "./errors";
export type { DoseInput, DoseRequest } from "./request";
export type { DoseWarning } from "./notes";
export type { ResultQuantity } from "./results";
export type { Interval, Intervals } from "./uncertainty";

export interface Contradiction {
  fields: string[];
  given: { value: number; unit: string };
  expected: { value: number; unit: string };
  /** Relative, with its sign: 0.08 is 8 % more than the others give. */
  by: number;
  text: string;
}

export type DoseSide = Record<string, ResultQuantity>;
export interface DeliveredFacts {
  basis: Basis;
  verified_at: string | null;
}
export type DeliveredSide = { [name: string]: ResultQuantity | string | null } & DeliveredFacts;

export interface DoseResponse {
  engine: string;
  dose: { set: DoseSide; delivered: DeliveredSide | null };
  absent: Record<string, string>;
  contradictions: Contradiction[];
  warnings: DoseWarning[];
  intervals: Intervals;
}

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

function shown(results: Results): DoseSide {
  const side: DoseSide = {};
  for (const [name, result] of results) side[name] = asQuantity(name, result);
  return side;
}

function deliveredShown(side: Side | null): DeliveredSide | null {
  const basis = side === null ? null : basisOf(side.given.delivery);
  if (side === null || basis === null) return null;
  return Object.assign(shown(side.results), { basis, verified_at: side.given.verified_at });
}

/** Return the response of the contract for a parsed request. */
export function evaluate(given: DoseInput): DoseResponse {
  const { known, clashes } = solveEmission(given);
  const panel = panelSide(given, known, refusedFields(clashes));
  const delivered = deliveredSide(panel);
  return {
    engine: ENGINE_VERSION,
    dose: { set: shown(panel.results), delivered: deliveredShown(delivered) },
    absent: absentReasons(given, known, panel.results, clashes),
    contradictions: clashes.map(contradiction),
    warnings: notes(given, panel.results),
    intervals: intervals(panel, delivered),
  };
}

/** Return the response of the contract for a request; throws BadInput with errors by field. */
export function respond(request: DoseRequest): DoseResponse {
  return evaluate(parse(request));
}
