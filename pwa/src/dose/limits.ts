// Compare settings with what a device can do, as its registration states; see api/dose/limits.py.
import { RANGES } from "./constants";
import { format_value } from "./display";
import { solveEmission } from "./emitted";
import { BadInput } from "./errors";
import { NotAQuantity, to_si } from "./quantity";
import { type DoseRequest, parse, type QuantityText } from "./request";
import { resultsFrom } from "./results";
import { valueOf } from "./steps";

export const LIMITED = [
  "average_power", "peak_power", "pulse_energy", "pulse_duration", "repetition_rate", "duty_cycle",
  "gate_on", "gate_off",
] as const;
export type LimitedName = (typeof LIMITED)[number];
export type DeviceLimits = {
  [name in LimitedName]?: { min?: QuantityText | null; max?: QuantityText | null };
};

const SLACK = 1e-9;

function limitSi(limits: DeviceLimits, name: LimitedName, end: "min" | "max"): number | null {
  const given = limits[name]?.[end];
  if (given === undefined || given === null) return null;
  try {
    return to_si(given, RANGES[`emission.${name}`]?.dimension ?? "1");
  } catch (problem) {
    if (!(problem instanceof NotAQuantity)) throw problem;
    throw new BadInput("bad_limit", problem.message, { [`limits.${name}.${end}`]: [problem.message] });
  }
}

function fieldOf(emission: DoseRequest["emission"], name: LimitedName): string {
  if (name in emission || !("power" in emission) || !name.endsWith("_power")) {
    return `emission.${name}`;
  }
  const mine = emission.mode === "continuous" || `${emission.power_kind}_power` === name;
  return mine ? "emission.power" : `emission.${name}`;
}

/** Return {field path: text} for everything in the settings that the device cannot do. */
export function check_limits(settings: DoseRequest, limits: DeviceLimits): Record<string, string> {
  const given = parse(settings);
  const results = resultsFrom(given, solveEmission(given).known);
  const problems: Record<string, string> = {};
  for (const name of LIMITED) {
    const gate = name === "gate_on" || name === "gate_off";
    const value = gate ? given.emission[name] : valueOf(results, name);
    if (value === undefined) continue;
    const path = fieldOf(settings.emission, name);
    const shown = (si: number): string => format_value(gate ? "off_time" : name, si);
    const words = `${name.replaceAll("_", " ")} ${shown(value)}`;
    const least = limitSi(limits, name, "min");
    const most = limitSi(limits, name, "max");
    if (least !== null && value < least * (1 - SLACK)) {
      problems[path] ??= `${words} is below the device's minimum, ${shown(least)}`;
    }
    if (most !== null && value > most * (1 + SLACK)) {
      problems[path] ??= `${words} is above the device's maximum, ${shown(most)}`;
    }
  }
  return problems;
}
