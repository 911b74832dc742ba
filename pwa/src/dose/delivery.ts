// How much of the emitted power reaches the tissue; see api/dose/delivery.py.
import { requireAboveZero } from "./ranges";

/** Power at the tissue from the power that the settings mean [W]. */
export function delivered_power_w(a: { set_power_w: number; verified_ratio: number }): number {
  requireAboveZero(a);
  return a.set_power_w * a.verified_ratio;
}

/** Energy at the tissue from the energy that the settings mean [J]. */
export function delivered_energy_j(a: { set_energy_j: number; verified_ratio: number }): number {
  requireAboveZero(a);
  return a.set_energy_j * a.verified_ratio;
}
