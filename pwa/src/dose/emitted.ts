// From a request's emission to all values that follow from it; see api/dose/emitted.py.
import { number } from "./constants";
import { duty_cycle, shape_factor } from "./emission";
import { repetition_rate_hz } from "./emission_inverse";
import { type DoseInput, refuse } from "./request";
import { type EmissionName, POWERS, type PowerKind, PULSES } from "./schema";
import {
  type Clash, CONTINUOUS_RULES, GATED_CONTINUOUS_RULES, GATED_TRAIN_RULES, type Given, type Known,
  type KnownValues, type Rule, type Settled, solve, solved, take, TRAIN_RULES,
} from "./solver";

// The order in which given values are taken. Powers come last, so that the panel's power is what a
// contradiction compares with the rest.
const ORDER: readonly (readonly [EmissionName, string])[] = [
  ["gate_on", "gate_on_s"],
  ["gate_off", "gate_off_s"],
  ["repetition_rate", "repetition_rate_hz"],
  ["pulse_period", "pulse_period_s"],
  ["pulse_duration", "pulse_duration_s"],
  ["duty_cycle", "duty_cycle"],
  ["pulse_energy", "pulse_energy_j"],
  ["peak_power", "peak_power_w"],
  ["average_power", "average_power_w"],
  ["power", ""],
];
const LONG_PULSE = "a pulse cannot be longer than its period";
const HIGH_AVERAGE = "the average power cannot be above the peak power";

/** Whether the emission is a pulse train, gated or not. */
export function hasPulses(given: DoseInput): boolean {
  if (given.mode === "pulsed") return true;
  return given.mode === "gated" && PULSES.some((name) => given.emission[name] !== undefined);
}

/** The solver's variable for the average power that a panel shows. */
export function averageVariable(given: DoseInput): string {
  return given.mode === "gated" ? "overall_power_w" : "average_power_w";
}

function rulesFor(given: DoseInput): readonly Rule[] {
  if (given.mode === "continuous") return CONTINUOUS_RULES;
  if (given.mode === "pulsed") return TRAIN_RULES;
  return hasPulses(given) ? GATED_TRAIN_RULES : GATED_CONTINUOUS_RULES;
}

function settledValues({ pulse_shape }: DoseInput): Settled {
  return { shape_factor: shape_factor({ pulse_shape }), pulse_shape };
}

function variableOf(given: DoseInput, name: EmissionName, usual: string, kind: PowerKind): string {
  if (given.mode === "continuous" && (POWERS as readonly string[]).includes(name)) {
    return "average_power_w";
  }
  if (name === "average_power") return averageVariable(given);
  if (name !== "power") return usual;
  if (kind === "average") return averageVariable(given);
  // A panel's power whose kind is not stated is left out: nothing may be worked out from it.
  return kind === "peak" ? "peak_power_w" : "";
}

function givenValues(given: DoseInput, kind: PowerKind): Given[] {
  const values: Given[] = [];
  for (const [name, usual] of ORDER) {
    const value = given.emission[name];
    if (value === undefined) continue;
    const variable = variableOf(given, name, usual, kind);
    if (variable !== "") values.push({ variable, field: `emission.${name}`, value });
  }
  return values;
}

function refuseLongPulse(duty: number, fields: readonly string[]): void {
  if (duty > 1 + number("PERIOD_TOLERANCE")) {
    throw refuse(Object.fromEntries(fields.map((field) => [field, [LONG_PULSE]])));
  }
}

function refuseImpossible(known: KnownValues): void {
  const duty = known.get("duty_cycle");
  if (duty !== undefined) refuseLongPulse(duty.value, duty.support);
  const mean = known.get("overall_power_w");
  const peak = known.get("peak_power_w");
  const most = number("GAUSSIAN_PULSE_FACTOR") * (1 + number("CONTRADICTION_TOLERANCE"));
  if (mean !== undefined && peak !== undefined && mean.value > most * peak.value) {
    const fields = [...mean.support, ...peak.support];
    throw refuse(Object.fromEntries(fields.map((field) => [field, [HIGH_AVERAGE]])));
  }
}

function refuseStatedLongPulse(values: readonly Given[]): void {
  const stated = new Map(values.map((one) => [one.variable, one]));
  const duration = stated.get("pulse_duration_s");
  if (duration === undefined) return;
  for (const variable of ["repetition_rate_hz", "pulse_period_s"]) {
    const other = stated.get(variable);
    if (other === undefined) continue;
    const rate =
      variable === "pulse_period_s"
        ? repetition_rate_hz({ pulse_period_s: other.value })
        : other.value;
    const duty = duty_cycle({ pulse_duration_s: duration.value, repetition_rate_hz: rate });
    refuseLongPulse(duty, [duration.field, other.field]);
  }
}

/** Fields of which nothing may be worked out, as they contradict each other. */
export function refusedFields(clashes: readonly Clash[]): Set<string> {
  return new Set(clashes.flatMap((clash) => [...clash.support, clash.field]));
}

/** Return what follows from the request, and the given values that collide. */
export function solveEmission(given: DoseInput): { known: Map<string, Known>; clashes: Clash[] } {
  const values = givenValues(given, given.power_kind);
  refuseStatedLongPulse(values);
  const rules = rulesFor(given);
  const settled = settledValues(given);
  const taken = take(rules, values, settled);
  const { clashes } = taken;
  const known =
    clashes.length > 0
      ? solveAgain(given, refusedFields(clashes))
      : solved(rules, values, taken, settled);
  refuseImpossible(known);
  return { known, clashes };
}

/** Return what follows from the request without the refused fields, whatever it may be. */
export function solveAgain(given: DoseInput, refused: ReadonlySet<string>): Map<string, Known> {
  const values = givenValues(given, given.power_kind);
  return solve(rulesFor(given), values, settledValues(given), refused);
}

/** What would follow if nothing collided and the power were of this kind; never shown. */
export function solveRegardless(given: DoseInput, kind: PowerKind): Map<string, Known> {
  return solve(rulesFor(given), givenValues(given, kind), settledValues(given), new Set());
}
