/** Links of the log that this tablet has itself computed, some of each age: what a restored log is compared with. Pure. */

import type { ChainRow, Head, Point } from "../store/house";
import { FIRST_LINK } from "./chain";

const MOST = 128;

/** The trail with where the tablet has come to; of the older half every second point goes when it grows long. */
export function remember(trail: readonly Point[], { position, link }: Point): Point[] {
  if (position === 0 || trail.some((one) => one.position === position)) return [...trail];
  const next = [...trail, { position, link }];
  if (next.length <= MOST) return next;
  const half = next.length >> 1;
  return next.filter((_, i) => i >= half || i % 2 === 0);
}

/**
 * Where the walk over a restored log begins: at its start, with everything this tablet remembers at
 * or below `upto` still ahead, to be compared when the walk comes by.
 */
export function beginAgain(before: ChainRow | null, epoch: string, upto: number): ChainRow {
  const trail = (before?.trail ?? []).filter(({ position }) => position <= upto);
  const heads = trail.map(({ position, link }): Head => ({ epoch, location_id: "", position, link, at: "" }));
  return {
    epoch, position: 0, link: FIRST_LINK, heads, durable_position: null, trail, stale: ["house", "records"],
  };
}
