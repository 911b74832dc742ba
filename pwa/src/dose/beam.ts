// What a stated spot diameter means; see api/dose/beam.py.
import { number } from "./constants";
import { BadInput } from "./errors";
import { requireAboveZero } from "./ranges";

export const DIAMETER_DEFINITIONS = ["1/e2", "86.5 %", "63 %", "fwhm"] as const;

/** 1/e2 diameter of a Gaussian spot whose diameter is stated another way [m]. */
export function spot_diameter_m(a: { diameter_m: number; diameter_definition: string }): number {
  requireAboveZero({ diameter_m: a.diameter_m });
  if (!(DIAMETER_DEFINITIONS as readonly string[]).includes(a.diameter_definition)) {
    const text = `diameter_definition is '${a.diameter_definition}'`;
    throw new BadInput("unknown_definition", text, { diameter_definition: [text] });
  }
  if (a.diameter_definition === "63 %") return a.diameter_m * number("INVERSE_E2_PER_INVERSE_E");
  if (a.diameter_definition === "fwhm") return a.diameter_m * number("INVERSE_E2_PER_FWHM");
  return a.diameter_m;
}
