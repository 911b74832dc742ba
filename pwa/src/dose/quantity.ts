// Read a quantity into SI units. The number's grammar is that of api/dose/quantity.py; the units
// are a small table of this tablet's own, each of which the server reads to the same value.
import { DIMENSIONS, RANGES, type RangeEntry } from "./constants";

export class NotAQuantity extends Error {}

const MAXIMUM_LENGTH = 40;
const TEXT = /^([+-]?[0-9]+(?:\.[0-9]+)?)(?:[eE]([+-]?[0-9]+))? *([^0-9 .+\-].*)?$/u;

// Unit: power of ten, and a factor for what is not decimal.
type Unit = readonly [power: number, factor?: number];

function prefixed(unit: string, prefixes: string): Record<string, Unit> {
  const powers: Record<string, number> = {
    G: 9, M: 6, k: 3, "": 0, c: -2, m: -3, u: -6, "\u00b5": -6, "\u03bc": -6, n: -9, p: -12,
  };
  return Object.fromEntries(
    prefixes.split(" ").map((prefix) => [prefix + unit, [powers[prefix] ?? 0] as const]),
  );
}

const SMALL = "m u \u00b5 \u03bc n";

export const UNITS: Record<string, Record<string, Unit>> = {
  W: prefixed("W", `G M k  ${SMALL}`),
  J: prefixed("J", `M k  ${SMALL}`),
  s: { ...prefixed("s", ` ${SMALL} p`), min: [0, 60], h: [0, 3600] },
  Hz: prefixed("Hz", "G M k  m"),
  m: prefixed("m", ` c ${SMALL}`),
  "m/s": prefixed("m/s", ` c m u \u00b5 \u03bc`),
  rad: { ...prefixed("rad", " m u \u00b5 \u03bc"), deg: [0, Math.PI / 180] },
  "1": { "": [0], "1": [0], "%": [-2] },
  dB: { dB: [0] },
  "kg/m^3": { "kg/m^3": [0], "kg/m3": [0], "g/cm^3": [3], "g/cm3": [3] },
  "J/kg/K": { "J/kg/K": [0], "J/g/K": [3], "kJ/kg/K": [3] },
  "W/m/K": { "W/m/K": [0] },
  "J/m^2": { "J/m^2": [0], "J/m2": [0], "J/cm^2": [4], "J/cm2": [4] },
  "m^2": { "m^2": [0], "m2": [0], "cm^2": [-4], "cm2": [-4], "mm^2": [-6], "mm2": [-6] },
  "J/kg": { "J/kg": [0], "kJ/kg": [3], "J/g": [3] },
};

function wanted(dimension: string): string {
  return `must be ${DIMENSIONS[dimension] ?? dimension}`;
}

/** A number's text, its power of ten apart, and its unit. */
type Parts = [mantissa: string, power: string, unit: string];

function partsOf(value: unknown, unit: string, dimension: string): Parts {
  if (typeof value !== "number") throw new NotAQuantity(wanted(dimension));
  if (!Number.isFinite(value)) throw new NotAQuantity("must be a finite number");
  const [mantissa = "", power = "0"] = String(value).split("e");
  return [mantissa, power, unit];
}

function refuseLong(text: string): void {
  if (text.length > MAXIMUM_LENGTH && [...text].length > MAXIMUM_LENGTH) {
    throw new NotAQuantity(`must be at most ${MAXIMUM_LENGTH} characters`);
  }
}

function split(given: unknown, dimension: string): Parts {
  if (typeof given === "string") {
    refuseLong(given);
    const match = TEXT.exec(given);
    if (match === null) throw new NotAQuantity(wanted(dimension));
    return [match[1] ?? "", match[2] ?? "0", match[3] ?? ""];
  }
  if (typeof given === "object" && given !== null && !Array.isArray(given)) {
    const { value, unit } = given as { value?: unknown; unit?: unknown };
    const names = Object.keys(given).sort().join();
    if (names !== "unit,value" || typeof unit !== "string") {
      throw new NotAQuantity(wanted(dimension));
    }
    refuseLong(unit);
    return partsOf(value, unit, dimension);
  }
  if (dimension === "1") return partsOf(given, "", dimension);
  throw new NotAQuantity(wanted(dimension));
}

/** Return a quantity in SI units; throws NotAQuantity with words for whoever typed it. */
export function to_si(given: unknown, dimension: string): number {
  const [mantissa, power, unitText] = split(given, dimension);
  const units = UNITS[dimension] ?? {};
  const unit = Object.hasOwn(units, unitText) ? units[unitText] : undefined;
  if (unit === undefined) throw new NotAQuantity(wanted(dimension));
  const [shift, factor = 1] = unit;
  // Reading the shifted text keeps "400 us" free of the rounding that a product would bring.
  const exponent = Math.max(-9999, Math.min(9999, Number(power) + shift));
  const value = Number(`${mantissa}e${exponent}`) * factor;
  if (!Number.isFinite(value)) throw new NotAQuantity("must be a finite number");
  return value;
}

/** Return the quantity of a request field in SI units, inside the range the field allows. */
export function to_si_within(given: unknown, field: string): number {
  const limits = RANGES[field];
  if (limits === undefined) throw new RangeError(`${field} is no quantity of a request`);
  return to_si_between(given, limits);
}

/** Return a quantity in SI units, inside the range given. */
export function to_si_between(given: unknown, limits: RangeEntry): number {
  const value = to_si(given, limits.dimension);
  if (!(value >= limits.least * (1 - 1e-9) && value <= limits.most * (1 + 1e-9))) {
    throw new NotAQuantity(`must be from ${limits.text}`);
  }
  return value;
}

function within(given: unknown, dimension: string): number | null {
  try {
    return to_si(given, dimension);
  } catch (problem) {
    if (!(problem instanceof NotAQuantity)) throw problem;
    return null;
  }
}

/** Return whether a standard uncertainty is relative, and its number. */
export function uncertainty_within(
  given: unknown,
  field: string,
): [relative: boolean, number: number] {
  const limits = RANGES[field];
  if (limits === undefined) throw new RangeError(`${field} is no quantity of a request`);
  const pure = within(given, "1");
  const relative = pure !== null;
  let number = pure;
  if (number === null) {
    try {
      number = to_si(given, limits.dimension);
    } catch (problem) {
      if (!(problem instanceof NotAQuantity)) throw problem;
      throw new NotAQuantity(`${problem.message}, or a pure number: relative`);
    }
  }
  if (!(number >= 0 && number <= (relative ? 1 : limits.most))) {
    throw new NotAQuantity("must be from 0 to the largest value of the field, or to 1 if relative");
  }
  return [relative, number];
}
