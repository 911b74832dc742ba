/** The same facts as the drawings of spot and beam show, as sentences. */
import { format_number, format_value } from "../../dose/display";
import { localNumbers, t } from "../../text";
import { unbroken } from "../quantity-text";
import { beamProfile, type BeamSizes, drawable, halfWidth, type ProfileFrame, profileFrame, spotOnGrid } from "./spot-shapes";

/** A length in mm as results are written. */
export const lengthText = (mm: number): string => unbroken(localNumbers(format_value("waist_diameter", mm)));
const numberText = (value: number): string => localNumbers(format_number(value, 2));

export function spotSentences(beam: BeamSizes, with_diameter_mm = 0): string[] {
  const grid = spotOnGrid({ spot_diameter_mm: beam.spot_diameter_mm, with_diameter_mm });
  const square = lengthText(grid.square_mm);
  const w = t.drawing;
  return [
    w.spotGrid(lengthText(beam.spot_diameter_mm), square),
    w.spotShare(localNumbers(format_number(2 * grid.radius_squares)), square),
  ];
}

export function beamSentences(beam: BeamSizes, frame?: ProfileFrame): string[] {
  const w = t.drawing;
  if (!drawable(beam)) return [w.unknownBeam];
  const profile = beamProfile(beam, frame ?? profileFrame([beam]));
  const { distance_mm, rayleigh_range_mm } = beam;
  const spot_mm = 2 * halfWidth({ ...beam, z_mm: distance_mm });
  return [
    w.waist(lengthText(beam.waist_diameter_mm)),
    (beam.one_sided ? w.focusFromTip : w.focus)(lengthText(2 * rayleigh_range_mm)),
    beam.one_sided ? w.tissueFromTip(lengthText(distance_mm)) : distance_mm === 0 ? w.tissueAtWaist : w.tissueAt(lengthText(distance_mm)),
    w.tissueSpot(lengthText(spot_mm)),
    distance_mm <= rayleigh_range_mm ? w.inFocus : w.outOfFocus,
    ...(beam.one_sided || distance_mm === 0 ? [] : [w.sides]),
    scaleSentence(profile.stretch),
  ];
}

function scaleSentence(stretch: number): string {
  if (stretch > 0.995 && stretch < 1.005) return t.drawing.sameScale;
  return stretch > 1 ? t.drawing.stretch(numberText(stretch)) : t.drawing.squeezed(numberText(1 / stretch));
}
