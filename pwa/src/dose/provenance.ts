// How what a number rests on is known, by the name of the formula that a result carries. Static
// tables: see api/dose/provenance.py.
import { PROVENANCE } from "./provenance_table";

export type Status = "printed" | "transcribed" | "computed" | "from memory" | "practice";

export interface FormulaEntry {
  status: Status;
  /** Codes of the conditions under which it holds. */
  valid: readonly string[];
  /** Names of the constants in it. */
  constants: readonly string[];
}

/** A constant in the unit that constants.json states; a whole table has no value. */
export interface ConstantEntry { value?: number; unit?: string; source: string; status: Status }

export const FORMULAS = PROVENANCE.formulas as Readonly<Record<string, FormulaEntry>>;
export const CONSTANTS = PROVENANCE.constants as Readonly<Record<string, ConstantEntry>>;
/** The default properties of each kind of tissue, in SI units. */
export const TISSUE_DEFAULTS = PROVENANCE.tissues as Readonly<Record<string, Readonly<Record<string, ConstantEntry & { value: number }>>>>;

/** The condition codes that some formula has, each once. */
export const conditions = (): string[] => [...new Set(Object.values(FORMULAS).flatMap(({ valid }) => valid))];

/** The constants that some formula has, each once. */
export const constantsInFormulas = (): string[] => [...new Set(Object.values(FORMULAS).flatMap(({ constants }) => constants))];
