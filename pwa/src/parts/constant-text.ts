/** Constants in the unit in which a person reads them. */
import { format_number } from "../dose/display";
import { CONSTANTS, type ConstantEntry } from "../dose/provenance";
import { localNumbers, t } from "../text";
import { unbroken } from "./quantity-text";

/** For each unit of the tables: up to which size, times what, called how; the last one holds for the rest. */
const SCALES: Readonly<Record<string, readonly (readonly [below: number, times: number, label: string])[]>> = {
  m: [[1e-3, 1e6, "µm"], [1, 1e3, "mm"], [Infinity, 1, "m"]],
  s: [[1e-6, 1e9, "ns"], [1e-4, 1e6, "µs"], [0.1, 1e3, "ms"], [Infinity, 1, "s"]],
  W: [[0.1, 1e3, "mW"], [Infinity, 1, "W"]],
  Cel: [[Infinity, 1, "°C"]],
  "kg/m^3": [[Infinity, 1, "kg/m³"]],
  "J/kg/K": [[Infinity, 1, "J/(kg K)"]],
  "W/m/K": [[Infinity, 1, "W/(m K)"]],
  "J/m^2": [[1, 1, "J/m²"], [Infinity, 1e-4, "J/cm²"]],
  "J/m3": [[Infinity, 1e-9, "kJ/cm³"]],
  "J/kg": [[Infinity, 1e-3, "J/g"]],
  "W/m^2": [[Infinity, 1, "W/m²"]],
  "m^2": [[Infinity, 1e4, "cm²"]],
  "m/W": [[Infinity, 1e3, "mm/W"]],
  "m/s^(3/8)": [[Infinity, 1e3, "mm"]],
};
// What these count is said by the constant's name.
const PURE = new Set(["1", "ln(1/s)", "pulses", "pulse periods", "pulse durations"]);

/** A value of the tables with its unit, whole: a constant is not rounded as a result is. */
export function siText(value: number, unit: string): string {
  const [, times, label] = SCALES[unit]?.find(([below]) => Math.abs(value) < below) ?? [0, 1, PURE.has(unit) ? "" : unit];
  return unbroken(localNumbers(`${format_number(value * times, 6)} ${label}`.trim()));
}

export function constantText({ value, unit }: ConstantEntry): string {
  return value === undefined ? t.provenance.table : siText(value, unit ?? "1");
}

/** A condition of validity, with the constants that it names. */
export function conditionText(code: string): string {
  const words = localNumbers(t.provenance.valid[code] ?? code);
  return words.replace(/\{([A-Z0-9_]+)\}/g, (_, name: string) => (CONSTANTS[name] ? constantText(CONSTANTS[name]) : name));
}
