// From the solved emission to the results of the contract; see api/dose/results.py.
import { FORMULA_SOURCES, RESULTS, resultEntry } from "./constants";
import { delivered_energy_j, delivered_power_w } from "./delivery";
import { averageVariable } from "./emitted";
import * as X from "./exposure";
import type { DoseInput } from "./request";
import type { Known, KnownValues } from "./solver";
import { type Band, type Result, type Results, Steps, valueOf } from "./steps";
import { addTissueResults } from "./tissue_results";

/** A result as the response carries it: a value, or a band with its two ends. */
export interface ResultQuantity {
  value?: number;
  low?: number;
  high?: number;
  unit: string;
  formula: string;
  sources: string[];
  note?: string;
}

const EMITTED: readonly (readonly [result: string, variable: string])[] = [
  ["peak_power", "peak_power_w"],
  ["pulse_energy", "pulse_energy_j"],
  ["pulse_duration", "pulse_duration_s"],
  ["repetition_rate", "repetition_rate_hz"],
  ["pulse_period", "pulse_period_s"],
  ["duty_cycle", "duty_cycle"],
  ["off_time", "off_time_s"],
  ["pulses_started_per_gate", "pulses_started"],
  ["pulses_complete_per_gate", "pulses_complete"],
  ["gate_energy", "gate_energy_j"],
];
const ORDER = Object.keys(RESULTS);
const POWERS = ["average_power_w", "overall_power_w", "peak_power_w"];
const ENERGIES = ["pulse_energy_j", "gate_energy_j"];

/** A result, its function, and for each argument which of the stock it is. */
interface Step {
  result: string;
  formula: string;
  needs: readonly (readonly [need: string, name: string])[];
  work: (values: never) => number;
}

function step<A extends object>(
  result: string,
  name: string,
  work: (values: A) => number,
  needs: readonly (keyof A & string)[],
  power = "",
): Step {
  const pairs = needs.map((need) => [need, need === "power_w" ? power : need] as const);
  return { result, formula: `api.dose.exposure.${name}`, needs: pairs, work };
}

const POWER_ON_SPOT = ["power_w", "spot_diameter_m"] as const;
const PULSE_ON_SPOT = ["pulse_energy_j", "spot_diameter_m"] as const;
const MOVING = ["spot_diameter_m", "speed_m_s"] as const;
const RATE_MOVING = ["repetition_rate_hz", ...MOVING] as const;
const POWER_MOVING = ["power_w", ...MOVING] as const;
const AVERAGE = "average_power";
const MEAN = "irradiance_mean_w_m2";
const PEAK = "irradiance_peak_w_m2";

const PLAN: readonly Step[] = [
  step("irradiance_mean", MEAN, X.irradiance_mean_w_m2, POWER_ON_SPOT, AVERAGE),
  step("irradiance_peak", PEAK, X.irradiance_peak_w_m2, POWER_ON_SPOT, AVERAGE),
  step("pulse_irradiance_mean", MEAN, X.irradiance_mean_w_m2, POWER_ON_SPOT, "peak_power"),
  step("pulse_irradiance_peak", PEAK, X.irradiance_peak_w_m2, POWER_ON_SPOT, "peak_power"),
  step("fluence_mean", "fluence_mean_j_m2", X.fluence_mean_j_m2, PULSE_ON_SPOT),
  step("fluence_peak", "fluence_peak_j_m2", X.fluence_peak_j_m2, PULSE_ON_SPOT),
  step("dwell_time", "dwell_time_s", X.dwell_time_s, MOVING),
  step("pulses_per_spot", "pulses_per_spot", X.pulses_per_spot, RATE_MOVING),
  step("overlap", "overlap", X.overlap, RATE_MOVING),
  step("line_energy", "line_energy_j_m", X.line_energy_j_m, ["power_w", "speed_m_s"], AVERAGE),
  step(
    "track_fluence_mean", "track_fluence_mean_j_m2", X.track_fluence_mean_j_m2, POWER_MOVING, AVERAGE,
  ),
  step(
    "track_fluence_peak", "track_fluence_peak_j_m2", X.track_fluence_peak_j_m2, POWER_MOVING, AVERAGE,
  ),
  step("total_energy", "total_energy_j", X.total_energy_j, ["power_w", "emission_time_s"], AVERAGE),
];

/** The results of the plan that one of these goes into. */
function fedBy(...names: readonly string[]): string[] {
  const fed = PLAN.filter(({ needs }) => needs.some(([, name]) => names.includes(name)));
  return fed.map(({ result }) => result);
}

/** What changes with the diameter at the tissue, and with the power that arrives there. */
export const ON_SPOT: readonly string[] = [...fedBy("spot_diameter_m"), "pulse_depth", "cut_depth"];
export const ON_POWER: readonly string[] = [
  ...fedBy(AVERAGE, "peak_power", "pulse_energy_j"), AVERAGE, "peak_power", "pulse_energy",
  "gate_energy", "pulse_depth", "cut_depth",
];

/** Return the emission at the tissue: powers and energies times the delivered fraction. */
export function deliveredValues(known: KnownValues, delivered_fraction: number): Map<string, Known> {
  const result = new Map(known);
  for (const [name, { value, support }] of known) {
    if (POWERS.includes(name)) {
      const power = delivered_power_w({ set_power_w: value, delivered_fraction });
      result.set(name, { value: power, formula: "api.dose.delivery.delivered_power_w", support });
    } else if (ENERGIES.includes(name)) {
      const energy = delivered_energy_j({ set_energy_j: value, delivered_fraction });
      result.set(name, { value: energy, formula: "api.dose.delivery.delivered_energy_j", support });
    }
  }
  return result;
}

/** Return the results on the emission. */
export function emittedResults(given: DoseInput, known: KnownValues): Results {
  const emitted: Results = new Map();
  const add = (name: string, variable: string): void => {
    const entry = known.get(variable);
    if (entry !== undefined) emitted.set(name, { value_si: entry.value, formula: entry.formula });
  };
  add("average_power", averageVariable(given));
  for (const [name, variable] of EMITTED) add(name, variable);
  return emitted;
}

type Stock = Record<string, number | null | undefined>;

/** What the steps of the plan can be given. */
function stockOf(given: DoseInput, emitted: Results): Stock {
  return {
    average_power: valueOf(emitted, "average_power"),
    peak_power: given.mode === "continuous" ? null : valueOf(emitted, "peak_power"),
    pulse_energy_j: valueOf(emitted, "pulse_energy"),
    repetition_rate_hz: given.mode === "pulsed" ? valueOf(emitted, "repetition_rate") : null,
    spot_diameter_m: given.spot?.diameter_m,
    speed_m_s: given.speed_m_s,
    emission_time_s: given.emission_time_s,
  };
}

/** The arguments that a step needs, or null where one of them is not known. */
function chosenFor({ needs }: Step, stock: Stock): Record<string, number> | null {
  const chosen: Record<string, number> = {};
  for (const [need, name] of needs) {
    const value = stock[name];
    if (value === null || value === undefined) return null;
    chosen[need] = value;
  }
  return chosen;
}

/** Return all results that can be worked out with this emission, in no order of meaning. */
export function workOut(given: DoseInput, emitted: Results, steps: Steps): Results {
  const found: Results = new Map(emitted);
  for (const name in given.spot?.values) found.set(name, given.spot.values[name]!);
  const stock = stockOf(given, emitted);
  for (const one of PLAN) {
    const chosen = chosenFor(one, stock);
    if (chosen === null) continue;
    found.set(one.result, steps.result(one.result, one.formula, one.work as never, chosen));
  }
  addTissueResults(found, given, steps);
  return found;
}

/** Return all results that can be worked out, in the contract's order. */
export function resultsFrom(given: DoseInput, known: KnownValues): Results {
  return inOrder(workOut(given, emittedResults(given, known), new Steps()));
}

/** Return results in the contract's order. */
export function inOrder(found: Results): Results {
  const ordered: Results = new Map();
  for (const name of ORDER) {
    const result = found.get(name);
    if (result !== undefined) ordered.set(name, result);
  }
  return ordered;
}

/** Return a result as the response carries it, a band with its two ends. */
export function asQuantity(name: string, result: Result | Band): ResultQuantity {
  const { unit, per_si, note, sources: usual } = resultEntry(name);
  const { formula } = result;
  const sources = formula === "given" ? [] : [...(FORMULA_SOURCES[formula] ?? usual)];
  const quantity: ResultQuantity =
    "value_si" in result
      ? { value: result.value_si * per_si, unit, formula, sources }
      : { low: result.low_si * per_si, high: result.high_si * per_si, unit, formula, sources };
  if (note !== undefined) quantity.note = note;
  return quantity;
}
