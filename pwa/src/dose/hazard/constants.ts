// The numbers of the hazard engine, generated from the file where they stand with unit and source.
import type { RangeEntry } from "../constants";
import { TABLE } from "./constants_table";

export interface LimitRow {
  from_m: number;
  to_m: number;
  from_s: number;
  to_s: number;
  kind: string;
  coefficient: number;
  exponent: number;
  factor: string;
  thermal: boolean;
}

export interface HazardResultEntry { label: string; unit: string; per_si: number; sources: readonly string[] }

export const RANGES = TABLE.quantities as Record<string, RangeEntry>;
export const RESULTS = TABLE.results as Record<string, HazardResultEntry>;
export const LIMITS = TABLE.limits as unknown as Record<Target, readonly LimitRow[]>;
export const TARGETS = ["eye", "skin"] as const;
export type Target = (typeof TARGETS)[number];

/** Return one named constant in the unit that constants.json states. */
export function number(name: keyof typeof TABLE.numbers): number {
  return TABLE.numbers[name].value;
}
