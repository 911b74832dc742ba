// Intervals of results from the stated uncertainties of their inputs, by first-order propagation;
// see api/dose/uncertainty.py.
import { deliveredFraction, statedBeside } from "./arrival";
import { DISPLAY, number, RANGES, resultEntry } from "./constants";
import { solveAgain } from "./emitted";
import { type DoseInput, settle, valueAt, withValue } from "./request";
import { deliveredValues, resultsFrom } from "./results";
import { CHAIN, EXACT } from "./schema";
import type { KnownValues } from "./solver";
import { type Band, type Result, type Results, tissueResults } from "./tissue_results";

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

/** One side of a dose, which can be worked out again with one input changed. */
interface Side {
  given: DoseInput;
  known: KnownValues;
  refused: ReadonlySet<string>;
  delivered: boolean;
}

function resultsOf({ given, known, delivered }: Side): Results {
  const fraction = delivered ? deliveredFraction(given) : null;
  if (fraction === null) return resultsFrom(given, known);
  const results = resultsFrom(given, deliveredValues(known, fraction.value_si));
  return new Map([...results, ...statedBeside(given)]);
}

/** The results that may depend on the input, with another value of it. */
function moved(side: Side, path: string, value: number, unmoved: Results): Results {
  if (path.startsWith("tissue.")) {
    // Nothing but the results on tissue rests on it.
    const tissue = { ...side.given.tissue, [path.slice("tissue.".length)]: value };
    return tissueResults({ ...side.given, tissue }, unmoved);
  }
  const given = settle(withValue(side.given.stated, path, value), side.given.uncertainty);
  const known = path.startsWith("emission.") ? solveAgain(given, side.refused) : side.known;
  return resultsOf({ ...side, given, known });
}

function countedPaths({ given, delivered }: Side): string[] {
  const { delivery } = given;
  const used = delivery.verified_ratio === undefined ? CHAIN : (["verified_ratio"] as const);
  const parts: Record<string, readonly string[]> = {
    delivery: delivered ? used.filter((name) => delivery[name] !== undefined) : [],
    spot: Object.keys((given.stated.spot ?? {}) as object),
    tissue: Object.keys(given.tissue),
  };
  const paths = Object.entries(parts).flatMap(([part, names]) => names.map((n) => `${part}.${n}`));
  return paths.filter((path) => Object.hasOwn(RANGES, path) && !EXACT.includes(path));
}

function ends(result: Result | Band): [low: number, high: number] {
  return "value_si" in result ? [result.value_si, result.value_si] : [result.low_si, result.high_si];
}

/** The two values between which the derivative is taken, inside the field's range. */
function around(given: DoseInput, path: string, value: number): [low: number, high: number] {
  const limits = RANGES[path]!;
  const step = number("DIFFERENCE_STEP") * (Math.abs(value) || (given.uncertainty[path] ?? 0));
  const low = Math.max(value - step, Math.min(limits.least, value));
  return [low, Math.min(value + step, Math.max(limits.most, value))];
}

/** Derivatives of the two ends of the results that depend on this input. */
function slopesOf(side: Side, path: string, unmoved: Results): Map<string, [number, number]> {
  const value = valueAt(side.given.stated, path)!;
  let [low, high] = around(side.given, path, value);
  // Where no uncertainty is stated only the dependence matters, and one side of the difference does.
  if (side.given.uncertainty[path] === undefined) {
    [low, high] = low < value ? [low, value] : [value, high];
  }
  const slopes = new Map<string, [number, number]>();
  if (low === high) return slopes;
  const before = low === value ? unmoved : moved(side, path, low, unmoved);
  const after = high === value ? unmoved : moved(side, path, high, unmoved);
  for (const [name, result] of before) {
    const other = after.get(name);
    if (other === undefined) continue;
    const left = ends(result);
    const right = ends(other);
    if (left[0] === right[0] && left[1] === right[1]) continue;
    slopes.set(name, [(right[0] - left[0]) / (high - low), (right[1] - left[1]) / (high - low)]);
  }
  return slopes;
}

function interval(name: string, result: Result | Band, variances: readonly number[]): Interval {
  const { unit, per_si } = resultEntry(name);
  const factor = number("COVERAGE_FACTOR");
  const [low, high] = ends(result);
  const below = low - factor * Math.sqrt(variances[0]!);
  const least = SIGNED.includes(name) ? below : Math.max(below, 0);
  return { low: least * per_si, high: (high + factor * Math.sqrt(variances[1]!)) * per_si, unit };
}

function sideIntervals(side: Side): SideIntervals {
  const { uncertainty } = side.given;
  const unmoved = resultsOf(side);
  const counted = countedPaths(side);
  const others = Object.keys(uncertainty).filter(
    (path) => !counted.includes(path) && !path.startsWith("delivery."),
  );
  const variances = new Map<string, [number, number]>();
  const unstated = new Set<string>();
  for (const path of [...counted, ...others]) {
    for (const [name, slopes] of slopesOf(side, path, unmoved)) {
      if (uncertainty[path] === undefined) unstated.add(name);
      const sums = variances.get(name) ?? [0, 0];
      const parts = slopes.map((slope) => slope * (uncertainty[path] ?? 0));
      variances.set(name, [sums[0] + parts[0]! * parts[0]!, sums[1] + parts[1]! * parts[1]!]);
    }
  }
  const found: SideIntervals = {};
  for (const [name, result] of unmoved) {
    const sums = variances.get(name);
    if (sums === undefined || DISPLAY.whole.includes(name)) continue;
    found[name] = unstated.has(name) ? NOT_STATED : interval(name, result, sums);
  }
  return found;
}

/** Return the intervals of a response: of the set dose, and of the delivered one or null. */
export function intervals(
  given: DoseInput,
  known: KnownValues,
  refused: ReadonlySet<string>,
): Intervals {
  const side = { given, known, refused };
  return {
    coverage_factor: number("COVERAGE_FACTOR"),
    set: sideIntervals({ ...side, delivered: false }),
    delivered:
      deliveredFraction(given) === null ? null : sideIntervals({ ...side, delivered: true }),
  };
}
