// Work out an emission from any sufficient subset of what a panel shows, and find contradictions:
// the mirror of api/dose/solver.py, rule for rule and in the same order.
import { number } from "./constants";
import * as E from "./emission";
import * as I from "./emission_inverse";
import * as G from "./gates";

/** A value in SI units, the function it came from ("given"), and the fields it rests on. */
export interface Known {
  value: number;
  formula: string;
  support: readonly string[];
}

/** A stated value: the solver's variable, its field path, its value in SI units. */
export interface Given {
  variable: string;
  field: string;
  value: number;
}

export interface Clash {
  variable: string;
  field: string;
  given: number;
  expected: number;
  support: readonly string[];
}

export type Settled = Record<string, number | string>;
export type KnownValues = ReadonlyMap<string, Known>;

export interface Rule {
  target: string;
  formula: string;
  needs: readonly string[];
  work: (values: never) => number | null;
}

function rule<A extends object>(
  target: string,
  formula: string,
  work: (values: A) => number | null,
  needs: readonly (keyof A & string)[],
): Rule {
  return { target, formula: `api.dose.${formula}`, needs, work };
}

export const TRAIN_RULES: readonly Rule[] = [
  rule("pulse_period_s", "emission.pulse_period_s", E.pulse_period_s, ["repetition_rate_hz"]),
  rule("repetition_rate_hz", "emission_inverse.repetition_rate_hz", I.repetition_rate_hz, [
    "pulse_period_s",
  ]),
  rule("duty_cycle", "emission.duty_cycle", E.duty_cycle, [
    "pulse_duration_s",
    "repetition_rate_hz",
  ]),
  rule(
    "pulse_duration_s",
    "emission_inverse.pulse_duration_from_duty_s",
    I.pulse_duration_from_duty_s,
    ["duty_cycle", "repetition_rate_hz"],
  ),
  rule(
    "repetition_rate_hz",
    "emission_inverse.repetition_rate_from_duty_hz",
    I.repetition_rate_from_duty_hz,
    ["duty_cycle", "pulse_duration_s"],
  ),
  rule("pulse_energy_j", "emission.pulse_energy_j", E.pulse_energy_j, [
    "peak_power_w",
    "pulse_duration_s",
    "shape_factor",
  ]),
  rule("peak_power_w", "emission_inverse.peak_power_w", I.peak_power_w, [
    "pulse_energy_j",
    "pulse_duration_s",
    "shape_factor",
  ]),
  rule("pulse_duration_s", "emission_inverse.pulse_duration_s", I.pulse_duration_s, [
    "pulse_energy_j",
    "peak_power_w",
    "shape_factor",
  ]),
  rule("average_power_w", "emission.average_power_w", E.average_power_w, [
    "pulse_energy_j",
    "repetition_rate_hz",
  ]),
  rule(
    "pulse_energy_j",
    "emission_inverse.pulse_energy_from_average_j",
    I.pulse_energy_from_average_j,
    ["average_power_w", "repetition_rate_hz"],
  ),
  rule(
    "repetition_rate_hz",
    "emission_inverse.repetition_rate_from_energy_hz",
    I.repetition_rate_from_energy_hz,
    ["average_power_w", "pulse_energy_j"],
  ),
  rule("average_power_w", "emission.average_power_from_peak_w", E.average_power_from_peak_w, [
    "peak_power_w",
    "duty_cycle",
    "shape_factor",
  ]),
  rule(
    "peak_power_w",
    "emission_inverse.peak_power_from_average_w",
    I.peak_power_from_average_w,
    ["average_power_w", "duty_cycle", "shape_factor"],
  ),
  rule("duty_cycle", "emission_inverse.duty_cycle_from_powers", I.duty_cycle_from_powers, [
    "average_power_w",
    "peak_power_w",
    "shape_factor",
  ]),
  rule("off_time_s", "emission.off_time_s", E.off_time_s, ["pulse_period_s", "pulse_duration_s"]),
];

const OVERALL_RULES: readonly Rule[] = [
  rule("overall_power_w", "gates.overall_power_w", G.overall_power_w, [
    "gate_energy_j",
    "gate_on_s",
    "gate_off_s",
  ]),
  rule("gate_energy_j", "gates.gate_energy_from_overall_j", G.gate_energy_from_overall_j, [
    "overall_power_w",
    "gate_on_s",
    "gate_off_s",
  ]),
];

const TRAIN = ["gate_on_s", "repetition_rate_hz"] as const;
const TRAIN_IN_GATE = [...TRAIN, "duty_cycle", "pulse_shape"] as const;

// In a gated train average_power_w is the average while the gate is open, which no panel shows;
// the average over gate and pause is overall_power_w.
export const GATED_TRAIN_RULES: readonly Rule[] = [
  ...TRAIN_RULES,
  rule("pulses_started", "gates.pulses_started_per_gate", G.pulses_started_per_gate, TRAIN),
  rule("pulses_complete", "gates.whole_pulses_per_gate", G.whole_pulses_per_gate, TRAIN),
  rule(
    "pulses_complete",
    "gates.pulses_complete_per_gate",
    G.pulses_complete_per_gate,
    TRAIN_IN_GATE,
  ),
  rule("pulse_equivalents", "gates.whole_pulses_per_gate", G.whole_pulses_per_gate, TRAIN),
  rule(
    "pulse_equivalents",
    "gates.pulse_equivalents_per_gate",
    G.pulse_equivalents_per_gate,
    TRAIN_IN_GATE,
  ),
  rule("gate_energy_j", "gates.gate_energy_j", G.gate_energy_j, [
    "pulse_energy_j",
    "pulse_equivalents",
  ]),
  rule("pulse_energy_j", "gates.pulse_energy_from_gate_j", G.pulse_energy_from_gate_j, [
    "gate_energy_j",
    "pulse_equivalents",
  ]),
  ...OVERALL_RULES,
];

export const GATED_CONTINUOUS_RULES: readonly Rule[] = [
  rule("gate_energy_j", "gates.continuous_gate_energy_j", G.continuous_gate_energy_j, [
    "peak_power_w",
    "gate_on_s",
  ]),
  rule("peak_power_w", "gates.peak_power_from_gate_w", G.peak_power_from_gate_w, [
    "gate_energy_j",
    "gate_on_s",
  ]),
  ...OVERALL_RULES,
];

export const CONTINUOUS_RULES: readonly Rule[] = [
  rule("peak_power_w", "emission.continuous_peak_power_w", E.continuous_peak_power_w, [
    "average_power_w",
  ]),
];

/** The fields that what is needed rests on, each once. */
function supportOf(needs: readonly string[], known: KnownValues): string[] {
  const fields: string[] = [];
  for (const need of needs) {
    for (const field of known.get(need)?.support ?? []) {
      if (!fields.includes(field)) fields.push(field);
    }
  }
  return fields;
}

/** The values that a rule needs, or null where one of them is not known. */
function valuesFor(
  needs: readonly string[],
  known: KnownValues,
  settled: Settled,
): Settled | null {
  const values: Settled = {};
  for (const need of needs) {
    const value = known.get(need)?.value ?? settled[need];
    if (value === undefined) return null;
    values[need] = value;
  }
  return values;
}

/** Return everything that follows from what is known; barred variables are never worked out. */
function close(
  rules: readonly Rule[],
  known: KnownValues,
  settled: Settled,
  barred: ReadonlySet<string>,
): Map<string, Known> {
  const result = new Map(known);
  let changed = true;
  while (changed) {
    changed = false;
    for (const { target, formula, needs, work } of rules) {
      if (result.has(target) || barred.has(target)) continue;
      const values = valuesFor(needs, result, settled);
      const value = values === null ? null : work(values as never);
      if (value === null) continue;
      result.set(target, { value, formula, support: supportOf(needs, result) });
      changed = true;
    }
  }
  return result;
}

/** Add the variables that may follow from those found, whatever their values are. */
function addFollowing(found: Set<string>, rules: readonly Rule[]): void {
  let before = -1;
  while (found.size > before) {
    before = found.size;
    for (const { target, needs } of rules) {
      if (!found.has(target) && needs.every((need) => found.has(need))) found.add(target);
    }
  }
}

/** The given values taken one by one: those that do not follow from earlier ones, the first of
 * each variable, and those that differ by more than 1 % from what earlier ones give. */
export interface Taken {
  basis: KnownValues;
  stated: KnownValues;
  clashes: Clash[];
}

const NOTHING: ReadonlySet<string> = new Set();

/** Take the given values in their order, each of them held against the earlier ones. */
export function take(rules: readonly Rule[], given: readonly Given[], settled: Settled): Taken {
  const tolerance = number("CONTRADICTION_TOLERANCE") * (1 + 1e-9);
  const basis = new Map<string, Known>();
  const stated = new Map<string, Known>();
  const clashes: Clash[] = [];
  const mayFollow = new Set(Object.keys(settled));
  for (const { variable, field, value } of given) {
    const entry: Known = { value, formula: "given", support: [field] };
    if (!stated.has(variable)) stated.set(variable, entry);
    const expected = mayFollow.has(variable)
      ? close(rules, basis, settled, NOTHING).get(variable)
      : undefined;
    if (expected === undefined) {
      basis.set(variable, entry);
      mayFollow.add(variable);
      addFollowing(mayFollow, rules);
    } else if (Math.abs(value / expected.value - 1) > tolerance) {
      const { support } = expected;
      clashes.push({ variable, field, given: value, expected: expected.value, support });
    }
  }
  return { basis, stated, clashes };
}

/** Return all values that follow from the given ones, those of refused fields left out. */
export function solve(
  rules: readonly Rule[],
  given: readonly Given[],
  settled: Settled,
  refused: ReadonlySet<string>,
): Map<string, Known> {
  const used = given.filter(({ field }) => !refused.has(field));
  return solved(rules, given, take(rules, used, settled), settled);
}

/** Return all values that follow from those taken; a given one that was not stays unknown. */
export function solved(
  rules: readonly Rule[],
  given: readonly Given[],
  { basis, stated }: Taken,
  settled: Settled,
): Map<string, Known> {
  const barred = new Set<string>();
  for (const { variable } of given) if (!stated.has(variable)) barred.add(variable);
  const known = close(rules, basis, settled, barred);
  for (const [variable, entry] of stated) known.set(variable, entry);
  return known;
}
