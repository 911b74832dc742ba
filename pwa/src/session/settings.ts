/** Settings as decimal strings with units: reading, stepping, comparing. */
import type { Settings, Verification } from "./types";

export interface Quantity { value: string; unit: string }

/** Split "4.5 W" into its number and unit. */
export function split(text: string): Quantity {
  const at = text.trim().search(/[^0-9.eE+-]/);
  return at < 0
    ? { value: text.trim(), unit: "" }
    : { value: text.slice(0, at).trim(), unit: text.slice(at).trim() };
}

/** Add `steps` times `step` to a decimal string, exactly, never below one step. */
export function addSteps(value: string, step: string, steps: number): string {
  const places = Math.max(decimals(value), decimals(step));
  const scale = 10 ** places;
  const units = (text: string) => Math.round(Number(text) * scale);
  const sum = Math.max(units(value) + units(step) * steps, units(step));
  return tidy((sum / scale).toFixed(places));
}

/** 3.0 becomes 3 and .5 becomes 0.5: no digit is shown that nobody gave. */
export function tidy(text: string): string {
  const whole = text.startsWith(".") ? `0${text}` : text;
  return whole.includes(".") && !/e/i.test(whole) ? whole.replace(/\.?0+$/, "") : whole;
}

function decimals(text: string): number {
  return text.split(".")[1]?.length ?? 0;
}

/** The emission values a tap may step, in the order of the panel. */
export const STEPPED = [
  "power", "average_power", "peak_power", "pulse_energy", "pulse_duration", "repetition_rate",
  "pulse_period", "gate_on", "gate_off",
] as const;

/** Step sizes: this project's own choice, common practice, no source. */
export function stepOf(field: string, quantity: Quantity): string {
  const size = Number(quantity.value);
  const unit = quantity.unit;
  if (unit === "W") return field === "peak_power" ? (size >= 50 ? "5" : "1") : size < 1 ? "0.1" : "0.5";
  if (unit === "mW") return "50";
  if (unit === "mJ") return size < 10 ? "1" : "5";
  if (unit === "us" || unit === "µs") return size < 100 ? "10" : "50";
  if (unit === "ms") return size < 5 ? "0.5" : size < 50 ? "5" : "10";
  if (unit === "Hz") return size < 20 ? "1" : "10";
  return size < 1 ? "0.1" : "1";
}

/** The same settings with one emission value moved by one step. */
export function stepped(settings: Settings, field: string, direction: 1 | -1): Settings {
  const quantity = split(settings.emission[field] ?? "");
  const next = addSteps(quantity.value, stepOf(field, quantity), direction);
  return { ...settings, emission: { ...settings.emission, [field]: `${next} ${quantity.unit}` } };
}

/** Put the power check that applies into the request, or take an older one out. */
export function withCheck(settings: Settings, check: Verification | null): Settings {
  const { delivery, ...rest } = settings;
  const kept = Object.fromEntries(
    Object.entries(delivery ?? {}).filter(([name]) => !name.startsWith("verified_")));
  if (check) {
    kept["verified_ratio"] = check.ratio;
    kept["verified_at"] = check.verified_at;
    if (check.ratio_uncertainty) kept["verified_ratio_uncertainty"] = check.ratio_uncertainty;
  }
  return Object.keys(kept).length > 0 ? { ...rest, delivery: kept } : rest;
}

/** Whether two settings mean the same panel and the same spot, by value. */
export function sameSettings(a: Settings, b: Settings): boolean {
  return sameValues(a.emission, b.emission) && sameValues(a.spot ?? {}, b.spot ?? {});
}

function sameValues(a: Record<string, string>, b: Record<string, string>): boolean {
  const keys = new Set([...Object.keys(a), ...Object.keys(b)]);
  for (const key of keys) {
    const left = a[key];
    const right = b[key];
    if (left === right) continue;
    if (left == null || right == null) return false;
    const x = split(left);
    const y = split(right);
    const sameUnit = x.unit.replace("µ", "u") === y.unit.replace("µ", "u");
    if (!sameUnit || Number(x.value) !== Number(y.value) || x.value === "") return false;
  }
  return true;
}
