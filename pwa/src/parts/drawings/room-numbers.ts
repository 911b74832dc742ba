/** Distances in a room, rounded so that a zone never looks smaller than it is. */
import { localNumbers } from "../../text";

/** Metres with two decimals, from 10 m with one, from 100 m with none; always rounded up. */
export function distanceText(distance_mm: number): string {
  const metres = distance_mm / 1000;
  const decimals = metres < 10 ? 2 : metres < 100 ? 1 : 0;
  const scale = 10 ** decimals;
  // The small step back keeps 1.5 m from becoming 1.51 m by a rounding of its own.
  const up = Math.ceil(metres * scale - 1e-9) / scale;
  return `${localNumbers(String(Number(up.toFixed(decimals))))}\u00a0m`;
}
