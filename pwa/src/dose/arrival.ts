// Which part of the set power arrives: the verified ratio where it exists, else the design; see
// api/dose/arrival.py.
import * as D from "./delivery";
import type { DoseInput } from "./request";
import { CHAIN } from "./schema";
import type { Result, Results } from "./steps";

export type Basis = "verified" | "design";
export type Delivery = DoseInput["delivery"];

/** Return the transmission of the stated chain; a part that is not stated counts as not there. */
export function designTransmission(chain: Delivery): Result | null {
  if (!CHAIN.some((name) => chain[name] !== undefined)) return null;
  const { mirror_count, mirror_reflectance, loss } = chain;
  const mirrors =
    mirror_count !== undefined && mirror_reflectance !== undefined
      ? D.mirrors_transmittance({ mirror_count, mirror_reflectance })
      : 1;
  const value_si = D.design_transmission({
    mirrors_transmittance: mirrors,
    lens_transmittance: chain.lens_transmittance ?? 1,
    window_transmittance: chain.window_transmittance ?? 1,
    loss_transmittance: loss === undefined ? 1 : D.loss_transmittance({ loss_db: loss }),
    contamination_transmittance: chain.contamination_transmittance ?? 1,
  });
  return { value_si, formula: "api.dose.delivery.design_transmission" };
}

/** Return what the delivered dose rests on. */
export function basisOf(delivery: Delivery): Basis | null {
  if (delivery.verified_ratio !== undefined) return "verified";
  return CHAIN.some((name) => delivery[name] !== undefined) ? "design" : null;
}

/** Return the fraction of the set power that counts as delivered. */
export function deliveredFraction(delivery: Delivery): Result | null {
  const { verified_ratio } = delivery;
  if (verified_ratio !== undefined) return { value_si: verified_ratio, formula: "given" };
  return designTransmission(delivery);
}

/** Return what stands beside a delivered dose: fraction, design, uncertainty of the ratio. */
export function statedBeside(delivery: Delivery): Results {
  const found: Results = new Map();
  const fraction = deliveredFraction(delivery);
  const design = designTransmission(delivery);
  const { verified_ratio_uncertainty } = delivery;
  if (fraction !== null) found.set("delivered_fraction", fraction);
  if (design !== null) found.set("design_transmission", design);
  if (verified_ratio_uncertainty !== undefined) {
    found.set("verified_ratio_uncertainty", {
      value_si: verified_ratio_uncertainty, formula: "given",
    });
  }
  return found;
}
