// The two sides of a dose: what the panel's power does, and what arrives of it; see
// api/dose/sides.py.
import { type Delivery, deliveredFraction, statedBeside } from "./arrival";
import { solveAgain } from "./emitted";
import { type DoseInput, settle, withValue } from "./request";
import { deliveredValues, emittedResults, inOrder, workOut } from "./results";
import type { KnownValues } from "./solver";
import { type Spot, spotFrom } from "./spot";
import { type Results, Steps } from "./steps";

/** What of the emission arrives by a delivery; all of it at the panel. */
function arriving(known: KnownValues, delivery: Delivery | null): KnownValues {
  const fraction = delivery === null ? null : deliveredFraction(delivery);
  return fraction === null ? known : deliveredValues(known, fraction.value_si);
}

/** One side: what it rests on, its results in the contract's order, and their steps. */
export class Side {
  constructor(
    readonly given: DoseInput,
    readonly known: KnownValues,
    /** The fields that contradict each other. */
    readonly refused: ReadonlySet<string>,
    /** By what the power arrives, null at the panel. */
    readonly delivery: Delivery | null,
    readonly emitted: Results,
    readonly results: Results,
    readonly steps: Steps,
  ) {}

  /** Return the spot with another value of one of its fields. */
  spotWith(name: string, value: number): Spot {
    const stated = { ...(this.given.stated.spot as object), [name]: value };
    return spotFrom(stated, this.given.wavelength_m);
  }

  /** Return the results with another value of one input, in no order of meaning. One that does not
   * rest on the input may be the very same object. */
  moved(path: string, value: number): Results {
    const { given, emitted, steps } = this;
    const [part, name] = path.split(".") as [string, string];
    if (part === "tissue") {
      return workOut({ ...given, tissue: { ...given.tissue, [name]: value } }, emitted, steps);
    }
    if (part === "spot") {
      return workOut({ ...given, spot: this.spotWith(name, value) }, emitted, steps);
    }
    if (part === "delivery") {
      const delivery: Delivery = { ...this.delivery, [name]: value };
      const arrived = emittedResults(given, arriving(this.known, delivery));
      const results = workOut(given, arrived, steps);
      for (const [beside, result] of statedBeside(delivery)) results.set(beside, result);
      return results;
    }
    const changed = settle(withValue(given.stated, path, value), given.uncertainty);
    if (part !== "emission") return workOut(changed, emitted, steps);
    const known = arriving(solveAgain(changed, this.refused), this.delivery);
    return workOut(changed, emittedResults(changed, known), steps);
  }
}

/** Return the side of the set power. */
export function panelSide(
  given: DoseInput,
  known: KnownValues,
  refused: ReadonlySet<string>,
): Side {
  const steps = new Steps();
  const emitted = emittedResults(given, known);
  const results = inOrder(workOut(given, emitted, steps));
  return new Side(given, known, refused, null, emitted, results, steps);
}

/** Return the side of what arrives, or null with neither a verified ratio nor a chain. */
export function deliveredSide({ given, known, refused, steps }: Side): Side | null {
  const { delivery } = given;
  if (deliveredFraction(delivery) === null) return null;
  const emitted = emittedResults(given, arriving(known, delivery));
  const results = inOrder(workOut(given, emitted, steps));
  for (const [name, result] of statedBeside(delivery)) results.set(name, result);
  return new Side(given, known, refused, delivery, emitted, results, steps);
}
