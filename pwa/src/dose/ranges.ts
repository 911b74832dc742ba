// One refusal for every physical function: a value outside what the formula holds for.
import { BadInput } from "./errors";

type Values = Record<string, number>;

function requireAll(values: Values, holds: (value: number) => boolean, demand: string): void {
  // Asked some hundred times for each dose, so that no list of the entries is made.
  for (const name in values) {
    const value = values[name]!;
    if (!holds(value)) {
      const text = `${name} is ${value}, it must be ${demand}`;
      throw new BadInput("out_of_range", text, { [name]: [text] });
    }
  }
}

/** Throw unless every value is finite and above zero. */
export function requireAboveZero(values: Values): void {
  requireAll(values, (value) => Number.isFinite(value) && value > 0, "above 0");
}

/** Throw unless every value is finite and zero or more. */
export function requireNotNegative(values: Values): void {
  requireAll(values, (value) => Number.isFinite(value) && value >= 0, "0 or more");
}

/** Throw unless every value is finite and one or more. */
export function requireOneOrMore(values: Values): void {
  requireAll(values, (value) => Number.isFinite(value) && value >= 1, "1 or more");
}

/** Throw unless every angle is below pi, in rad. */
export function requireBelowHalfTurn(values: Values): void {
  requireAll(values, (value) => value < Math.PI, "below pi");
}

/** Throw unless every value is above zero and at most one. */
export function requireFraction(values: Values): void {
  requireAll(values, (value) => value > 0 && value <= 1, "above 0 and at most 1");
}

/** Throw unless every value is a whole number, zero or more. */
export function requireWhole(values: Values): void {
  requireAll(values, (value) => Number.isInteger(value) && value >= 0, "a whole number of 0 or more");
}

/** Throw unless every value is above the threshold. */
export function requireAbove(threshold: number, values: Values): void {
  requireAll(values, (value) => value > threshold, `above ${threshold}`);
}
