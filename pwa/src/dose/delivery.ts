// How much of the emitted power reaches the tissue; equations and validity in api/dose/delivery.py.
import { requireAboveZero, requireFraction, requireNotNegative, requireWhole } from "./ranges";

/** What a row of like mirrors leaves of the power [1]. */
export function mirrors_transmittance(a: {
  mirror_count: number;
  mirror_reflectance: number;
}): number {
  requireWhole({ mirror_count: a.mirror_count });
  requireFraction({ mirror_reflectance: a.mirror_reflectance });
  return a.mirror_reflectance ** a.mirror_count;
}

/** What a loss in decibel leaves of the power [1]. */
export function loss_transmittance(a: { loss_db: number }): number {
  requireNotNegative(a);
  return 10 ** (-a.loss_db / 10);
}

/** What a delivery chain leaves of the power by its design [1]. */
export function design_transmission(a: {
  mirrors_transmittance: number;
  lens_transmittance: number;
  window_transmittance: number;
  loss_transmittance: number;
  contamination_transmittance: number;
}): number {
  requireFraction(a);
  return (
    a.mirrors_transmittance * a.lens_transmittance * a.window_transmittance *
    a.loss_transmittance * a.contamination_transmittance
  );
}

/** Power at the tissue from the power that the settings mean [W]. */
export function delivered_power_w(a: { set_power_w: number; delivered_fraction: number }): number {
  requireAboveZero(a);
  return a.set_power_w * a.delivered_fraction;
}

/** Energy at the tissue from the energy that the settings mean [J]. */
export function delivered_energy_j(a: {
  set_energy_j: number;
  delivered_fraction: number;
}): number {
  requireAboveZero(a);
  return a.set_energy_j * a.delivered_fraction;
}
