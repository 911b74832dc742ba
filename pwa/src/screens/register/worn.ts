/** A piece of the register as it is worn, and why it is not. */
import { covers, inUse, wearable, type EyewearPiece } from "../../session/registers";
import { sameEyewear, type Eyewear } from "../../session/protection";
import { t } from "../../text";

export const asWorn = (piece: EyewearPiece): Eyewear =>
  ({ label: piece.label, wavelength: rangeText(piece), optical_density: piece.optical_density, eyewear_id: piece.eyewear_id });

/** As it goes into the log: with a point, in whichever language it is chosen. */
function rangeText({ shortest_wavelength, longest_wavelength }: EyewearPiece): string {
  const [from = "", unit] = shortest_wavelength.split(" ");
  return longest_wavelength.endsWith(` ${unit}`) ? `${from}-${longest_wavelength}` : `${shortest_wavelength} - ${longest_wavelength}`;
}

/** Why nobody should put it on for this laser; null where nothing is known against it. */
export function whyNotWorn(piece: EyewearPiece | undefined, wavelength: string | null): string | null {
  const w = t.registers;
  if (!piece) return w.scan.unknown;
  if (!inUse(piece)) return w.retiredBecause(piece.retired?.reason ?? "");
  if (!wearable(piece)) return w.failedInspection;
  return wavelength && covers(piece, wavelength) === false ? w.scan.notMarked(piece.label) : null;
}

/** The same of what was worn before: by its id, else by what it is called and marked; null also where the register does not know it. */
export function whyNotAgain(one: Eyewear, pieces: readonly EyewearPiece[], wavelength: string | null): string | null {
  const meant = pieces.filter((piece) => (one.eyewear_id ? piece.eyewear_id === one.eyewear_id : sameEyewear(asWorn(piece), one)));
  const against = meant.map((piece) => whyNotWorn(piece, wavelength));
  return against.includes(null) ? null : against[0] ?? null;
}
