// One refusal for every physical function: a value outside what the formula holds for.
import { BadInput } from "./errors";

/** Throw unless every value is finite and above zero. */
export function requireAboveZero(values: Record<string, number>): void {
  for (const [name, value] of Object.entries(values)) {
    if (!(Number.isFinite(value) && value > 0)) {
      const text = `${name} is ${value}, it must be above 0`;
      throw new BadInput("out_of_range", text, { [name]: [text] });
    }
  }
}

/** Throw unless every value is finite and zero or more. */
export function requireNotNegative(values: Record<string, number>): void {
  for (const [name, value] of Object.entries(values)) {
    if (!(Number.isFinite(value) && value >= 0)) {
      const text = `${name} is ${value}, it must be 0 or more`;
      throw new BadInput("out_of_range", text, { [name]: [text] });
    }
  }
}

/** Throw unless every value is finite and one or more. */
export function requireOneOrMore(values: Record<string, number>): void {
  for (const [name, value] of Object.entries(values)) {
    if (!(Number.isFinite(value) && value >= 1)) {
      const text = `${name} is ${value}, it must be 1 or more`;
      throw new BadInput("out_of_range", text, { [name]: [text] });
    }
  }
}

/** Throw unless every angle is below pi, in rad. */
export function requireBelowHalfTurn(values: Record<string, number>): void {
  for (const [name, value] of Object.entries(values)) {
    if (!(value < Math.PI)) {
      const text = `${name} is ${value}, it must be below pi`;
      throw new BadInput("out_of_range", text, { [name]: [text] });
    }
  }
}

/** Throw unless every value is above zero and at most one. */
export function requireFraction(values: Record<string, number>): void {
  for (const [name, value] of Object.entries(values)) {
    if (!(value > 0 && value <= 1)) {
      const text = `${name} is ${value}, it must be above 0 and at most 1`;
      throw new BadInput("out_of_range", text, { [name]: [text] });
    }
  }
}

/** Throw unless every value is a whole number, zero or more. */
export function requireWhole(values: Record<string, number>): void {
  for (const [name, value] of Object.entries(values)) {
    if (!(Number.isInteger(value) && value >= 0)) {
      const text = `${name} is ${value}, it must be a whole number of 0 or more`;
      throw new BadInput("out_of_range", text, { [name]: [text] });
    }
  }
}

/** Throw unless every value is above the threshold. */
export function requireAbove(threshold: number, values: Record<string, number>): void {
  for (const [name, value] of Object.entries(values)) {
    if (!(value > threshold)) {
      const text = `${name} is ${value}, it must be above ${threshold}`;
      throw new BadInput("out_of_range", text, { [name]: [text] });
    }
  }
}
