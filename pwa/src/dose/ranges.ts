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
