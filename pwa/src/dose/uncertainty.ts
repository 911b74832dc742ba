// Intervals of results from the stated uncertainties of their inputs, by first-order propagation;
// see api/dose/uncertainty.py.
import { statedBeside } from "./arrival";
import { DISPLAY, number, RANGES, resultEntry } from "./constants";
import { type DoseInput, valueAt } from "./request";
import { ON_POWER, ON_SPOT } from "./results";
import { CHAIN, EXACT } from "./schema";
import type { Side } from "./sides";
import { type Band, endsOf, type Result } from "./steps";
import { needsOf, TISSUE_NAMES } from "./tissue_results";

const NOT_STATED = "not stated";
// May be negative: gaps between the spots.
const SIGNED = ["overlap"];

/** Two standard uncertainties to either side, in the result's unit. */
export interface Interval {
  low: number;
  high: number;
  unit: string;
}
export type SideIntervals = Record<string, Interval | "not stated">;
export interface Intervals {
  coverage_factor: number;
  set: SideIntervals;
  delivered: SideIntervals | null;
}

function countedPaths({ given, delivery }: Side): string[] {
  const used = delivery?.verified_ratio === undefined ? CHAIN : (["verified_ratio"] as const);
  const parts: Record<string, readonly string[]> = {
    delivery: delivery === null ? [] : used.filter((name) => delivery[name] !== undefined),
    spot: Object.keys((given.stated.spot ?? {}) as object),
    tissue: Object.keys(given.tissue),
  };
  const paths = Object.entries(parts).flatMap(([part, names]) => names.map((n) => `${part}.${n}`));
  return paths.filter((path) => Object.hasOwn(RANGES, path) && !EXACT.includes(path));
}

/** The two values between which the derivative is taken, inside the field's range. */
function around(given: DoseInput, path: string, value: number): [low: number, high: number] {
  const limits = RANGES[path]!;
  const step = number("DIFFERENCE_STEP") * (Math.abs(value) || (given.uncertainty[path] ?? 0));
  const low = Math.max(value - step, Math.min(limits.least, value));
  return [low, Math.min(value + step, Math.max(limits.most, value))];
}

/** Derivatives of the two ends of the results that depend on this input. */
function slopesOf(side: Side, path: string): Map<string, [number, number]> {
  const value = valueAt(side.given.stated, path)!;
  const [low, high] = around(side.given, path, value);
  const slopes = new Map<string, [number, number]>();
  if (low === high) return slopes;
  const before = low === value ? side.results : side.moved(path, low);
  const after = high === value ? side.results : side.moved(path, high);
  for (const [name, result] of before) {
    const other = after.get(name);
    if (other === undefined || !differ(result, other)) continue;
    const left = endsOf(result);
    const right = endsOf(other);
    slopes.set(name, [(right[0] - left[0]) / (high - low), (right[1] - left[1]) / (high - low)]);
  }
  return slopes;
}

/** The results that depend on an input without a stated uncertainty. */
function depending(side: Side, path: string): Iterable<string> {
  const { given, results } = side;
  const [part, field] = path.split(".") as [string, string];
  if (part === "tissue") {
    const needs = (result: string): readonly string[] => needsOf(given, result);
    return TISSUE_NAMES.filter((name) => results.has(name) && needs(name).includes(field));
  }
  const value = valueAt(given.stated, path)!;
  const [low, high] = around(given, path, value);
  if (low === high) return [];
  const other = low < value ? low : high;
  const onPart = part === "spot" ? dependingOnSpot : dependingOnDelivery;
  return onPart(side, field, other).filter((name) => results.has(name));
}

/** The results that change with one field of the spot. */
function dependingOnSpot(side: Side, field: string, other: number): string[] {
  const values = side.given.spot?.values ?? {};
  const moved = side.spotWith(field, other).values;
  const changed = Object.keys(moved).filter((name) => differ(moved[name]!, values[name]));
  return changed.includes("spot_diameter") ? [...changed, ...ON_SPOT] : changed;
}

/** The results that change with one part of the delivery. */
function dependingOnDelivery({ delivery }: Side, part: string, other: number): string[] {
  const beside = statedBeside(delivery ?? {});
  const moved = statedBeside({ ...delivery, [part]: other });
  const changed = [...moved.keys()].filter((name) => differ(moved.get(name)!, beside.get(name)));
  return changed.includes("delivered_fraction") ? [...changed, ...ON_POWER] : changed;
}

function differ(result: Result | Band, other: Result | Band | undefined): boolean {
  if (other === undefined || other === result) return false;
  const left = endsOf(result);
  const right = endsOf(other);
  return left[0] !== right[0] || left[1] !== right[1];
}

function interval(name: string, result: Result | Band, variances: readonly number[]): Interval {
  const { unit, per_si } = resultEntry(name);
  const factor = number("COVERAGE_FACTOR");
  const [low, high] = endsOf(result);
  const below = low - factor * Math.sqrt(variances[0]!);
  const least = SIGNED.includes(name) ? below : Math.max(below, 0);
  return { low: least * per_si, high: (high + factor * Math.sqrt(variances[1]!)) * per_si, unit };
}

function sideIntervals(side: Side): SideIntervals {
  const { uncertainty } = side.given;
  const counted = countedPaths(side);
  const others = Object.keys(uncertainty).filter(
    (path) => !counted.includes(path) && !path.startsWith("delivery."),
  );
  const variances = new Map<string, [number, number]>();
  const unstated = new Set<string>();
  for (const path of [...counted, ...others]) {
    const spread = uncertainty[path];
    if (spread === undefined) {
      for (const name of depending(side, path)) unstated.add(name);
      continue;
    }
    for (const [name, [low, high]] of slopesOf(side, path)) {
      const sums = variances.get(name) ?? [0, 0];
      sums[0] += low * spread * (low * spread);
      sums[1] += high * spread * (high * spread);
      variances.set(name, sums);
    }
  }
  const found: SideIntervals = {};
  for (const [name, result] of side.results) {
    if (DISPLAY.whole.includes(name)) continue;
    const sums = variances.get(name);
    if (unstated.has(name)) found[name] = NOT_STATED;
    else if (sums !== undefined) found[name] = interval(name, result, sums);
  }
  return found;
}

/** Return the intervals of a response: of the set dose, and of the delivered one or null. */
export function intervals(panel: Side, delivered: Side | null): Intervals {
  return {
    coverage_factor: number("COVERAGE_FACTOR"),
    set: sideIntervals(panel),
    delivered: delivered === null ? null : sideIntervals(delivered),
  };
}
