/** Bands of depth below the surface on one scale, a decade to each stretch. */

/** A band of a result, its ends in µm. */
export interface DepthBand {
  name: "pulse_depth" | "cut_depth" | "thermal_damage";
  low_um: number;
  high_um: number;
}

export const BANDS_WIDTH = 600;
export const ROW = 64;
const LEAST_UM = 1;

export interface BandRow {
  band: DepthBand;
  x: number;
  width: number;
  y: number;
}

export interface DepthScale {
  rows: BandRow[];
  /** Depths of whole decades in µm, with where they stand. */
  decades: { depth_um: number; x: number }[];
  height: number;
}

/** Lay the bands below one another, from 1 µm to the decade that holds the deepest. */
export function depthScale(bands: readonly DepthBand[]): DepthScale {
  const deepest = Math.max(100, ...bands.map((band) => band.high_um));
  const count = Math.ceil(Math.log10(deepest / LEAST_UM) - 1e-9);
  const x = (depth_um: number): number => BANDS_WIDTH * Math.log10(Math.max(depth_um, LEAST_UM) / LEAST_UM) / count;
  return {
    rows: bands.map((band, place) => ({
      // A band of no width is still seen.
      band, x: x(band.low_um), width: Math.max(4, x(band.high_um) - x(band.low_um)), y: place * ROW,
    })),
    decades: Array.from({ length: count + 1 }, (_, place) => ({ depth_um: LEAST_UM * 10 ** place, x: BANDS_WIDTH * place / count })),
    height: bands.length * ROW,
  };
}
