// The numbers of the engine, generated from the one file where they stand with unit and source.
import { TABLE } from "./constants_table";

export interface ResultEntry {
  label: string;
  unit: string;
  per_si: number;
  needs: string;
  sources: readonly string[];
  note?: string;
}

export interface RangeEntry {
  dimension: string;
  least: number;
  most: number;
  text: string;
}

export interface ScaleStep {
  from: number;
  shift: number;
  label: string;
}

export const RESULTS = TABLE.results as Record<string, ResultEntry>;
/** Sources of the functions that have others than their result. */
export const FORMULA_SOURCES = TABLE.formula_sources as Record<string, readonly string[]>;
export const RANGES = TABLE.quantities as Record<string, RangeEntry>;
/** Properties of the kinds of tissue, in SI units. */
export const TISSUES = TABLE.tissues as Record<string, Record<string, { value: number }>>;
/** Wavelength and extinction coefficient of water, range by range. */
export const WATER_EXTINCTION = TABLE.water_extinction.ranges as unknown as
  readonly (readonly (readonly [wavelength_m: number, k: number])[])[];
export const DIMENSIONS = TABLE.dimensions as Record<string, string>;
export const DISPLAY = TABLE.display as {
  significant_digits: number;
  noise_digits: number;
  as_percent: readonly string[];
  whole: readonly string[];
  scales: Record<string, readonly ScaleStep[]>;
};

/** Return one named constant in the unit that constants.json states. */
export function number(name: keyof typeof TABLE.numbers): number {
  return TABLE.numbers[name].value;
}

export function resultEntry(name: string): ResultEntry {
  const entry = RESULTS[name];
  if (entry === undefined) throw new RangeError(`${name} is no result`);
  return entry;
}

export const ENGINE_VERSION: string = TABLE.engine_version;
