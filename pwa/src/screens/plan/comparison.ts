/** Two settings beside each other: what differs, and by how much. Pure. */
import { format_number } from "../../dose/display";
import { to_si } from "../../dose/quantity";
import type { DoseResponse, Result } from "../../session/dosing";

export type Ratio = { kind: "same" } | { kind: "times"; factor: number } | { kind: "none" };

export interface ResultRow {
  name: string;
  a: Result | null;
  b: Result | null;
  why_a: string | null;
  why_b: string | null;
  ratio: Ratio;
}

/** Relative; less than any number on the screen shows. */
const SAME = 1e-9;

export function ratioOf(a: number | null | undefined, b: number | null | undefined): Ratio {
  if (a == null || b == null) return { kind: "none" };
  if (a === b) return { kind: "same" };
  // An overlap below zero, or a distance of zero, has no ratio to anything.
  if (!(a > 0 && b > 0)) return { kind: "none" };
  return Math.abs(b / a - 1) < SAME ? { kind: "same" } : { kind: "times", factor: b / a };
}

/** "4" or "0.25": three significant digits, as everywhere. */
export const factorText = (factor: number): string => format_number(factor);

type Side = "set" | "delivered";

/** Every result that at least one of the two has, in `order`; where one lacks it, why. */
export function resultRows(a: DoseResponse, b: DoseResponse, order: readonly string[], side: Side, noCheck: string): ResultRow[] {
  const find = (response: DoseResponse, name: string): { result: Result | null; why: string | null } => {
    const result = response.dose[side]?.[name];
    if (result && (result.value !== undefined || result.low !== undefined)) return { result, why: null };
    return { result: null, why: side === "delivered" && !response.dose.delivered ? noCheck : response.absent[name] ?? null };
  };
  return order.flatMap((name) => {
    const [one, two] = [find(a, name), find(b, name)];
    if (!one.result && !two.result) return [];
    return [{ name, a: one.result, b: two.result, why_a: one.why, why_b: two.why, ratio: ratioOf(one.result?.value, two.result?.value) }];
  });
}

export interface InputRow { name: string; a: string | null; b: string | null; ratio: Ratio }

/** The dimension of each input that is a number, as the engine reads it. */
const DIMENSIONS: readonly string[] = ["W", "J", "s", "Hz", "m", "m/s", "rad", "1"];

/** What stands in one request and not, or otherwise, in the other; `inputs` are facts by name. */
export function inputRows(a: Readonly<Record<string, string>>, b: Readonly<Record<string, string>>): InputRow[] {
  const names = [...new Set([...Object.keys(a), ...Object.keys(b)])];
  return names.flatMap((name) => {
    const [one, two] = [a[name] ?? null, b[name] ?? null];
    const ratio = one !== null && two !== null ? ratioOf(number(one), number(two)) : { kind: "none" as const };
    return one === two || ratio.kind === "same" ? [] : [{ name, a: one, b: two, ratio }];
  });
}

function number(text: string): number | null {
  for (const dimension of DIMENSIONS) {
    try {
      return to_si(text, dimension);
    } catch {
      // Not of this dimension.
    }
  }
  return null;
}

