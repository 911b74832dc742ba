/** From the sizes of a beam to shapes: the spot on a millimetre grid, and the beam along its axis. */

/** What is known of a beam; lengths in mm, diameters 1/e². */
export interface BeamSizes {
  spot_diameter_mm: number;
  waist_diameter_mm: number | null;
  rayleigh_range_mm: number | null;
  /** How far the tissue is from the waist, or from the end of a waveguide. */
  distance_mm: number | null;
  /** A beam from the end of a waveguide has no side before its waist. */
  one_sided: boolean;
}

/** A spot on a grid whose squares are `square_mm` wide; the picture is `squares` of them wide. */
export interface SpotOnGrid {
  square_mm: number;
  squares: number;
  /** Radius of the spot in squares. */
  radius_squares: number;
  /** Grid lines, in squares from the left or top. */
  lines: number[];
}

/** Widths of a square that are easily said. 1 mm unless the spot is wider than the picture. */
const SQUARES_MM = [1, 10, 100] as const;
const MOST_SQUARES = 12;
const LEAST_SQUARES = 2;

/**
 * Lay a spot on the grid. `with_diameter_mm` widens the picture to another spot, so that two can be
 * drawn to the same scale.
 */
export function spotOnGrid({ spot_diameter_mm, with_diameter_mm = 0 }: { spot_diameter_mm: number; with_diameter_mm?: number }): SpotOnGrid {
  const widest = Math.max(spot_diameter_mm, with_diameter_mm);
  const square_mm = SQUARES_MM.find((size) => widest / size <= MOST_SQUARES - 1) ?? SQUARES_MM[SQUARES_MM.length - 1]!;
  // An even number, so that the spot's centre lies on a crossing of lines; a rim of half a square.
  const squares = Math.max(LEAST_SQUARES, 2 * Math.ceil((widest / square_mm + 0.5) / 2));
  return {
    square_mm, squares, radius_squares: spot_diameter_mm / square_mm / 2,
    lines: Array.from({ length: squares + 1 }, (_, i) => i),
  };
}

export interface Point { x: number; y: number }

/** The beam from the side. x runs along the axis and y across it, both in the picture's units. */
export interface BeamProfile {
  width: number;
  height: number;
  /** The lower edge is the upper one mirrored on `axis_y`. */
  upper: Point[];
  axis_y: number;
  waist_x: number;
  /** Where the beam is at most √2 times its waist. */
  focus_from_x: number;
  focus_to_x: number;
  tissue_x: number;
  /** Half the spot at the tissue, in the picture's units. */
  tissue_half: number;
  units_per_mm_along: number;
  units_per_mm_across: number;
  /** How many times larger across is drawn than along. */
  stretch: number;
}

/** The stretch of the axis that is shown, counted from the waist, and half of what is shown across. */
export interface ProfileFrame { from_mm: number; to_mm: number; half_width_mm: number }

const WIDTH = 600;
const HEIGHT = 220;
const RIM = 10;
const POINTS = 60;

/** Half the 1/e² diameter at a distance z from the waist: w(z) = w0 √(1 + (z / zR)²). */
export function halfWidth({ waist_diameter_mm, rayleigh_range_mm, z_mm }: { waist_diameter_mm: number; rayleigh_range_mm: number; z_mm: number }): number {
  const widening = z_mm / rayleigh_range_mm;
  return waist_diameter_mm / 2 * Math.sqrt(1 + widening * widening);
}

/** How much of the beam a picture must show, so that two can share one scale. */
export function profileFrame(beams: readonly BeamSizes[]): ProfileFrame {
  const known = beams.filter(drawable);
  const to_mm = Math.max(0, ...known.map((b) => Math.max(1.5 * b.rayleigh_range_mm, 1.25 * b.distance_mm)));
  const half_width_mm = Math.max(0, ...known.map((b) => halfWidth({ ...b, z_mm: to_mm })));
  return { from_mm: known.every((b) => b.one_sided) ? 0 : -to_mm, to_mm, half_width_mm };
}

export type DrawableBeam = BeamSizes & { waist_diameter_mm: number; rayleigh_range_mm: number; distance_mm: number };

/** A spot known only by its diameter says nothing of the beam before and behind it. */
export function drawable(beam: BeamSizes): beam is DrawableBeam {
  return beam.waist_diameter_mm !== null && beam.rayleigh_range_mm !== null && beam.distance_mm !== null;
}

/** Lay the beam out along its axis within `frame`, from the waist towards the tissue at the right. */
export function beamProfile(beam: DrawableBeam, frame: ProfileFrame = profileFrame([beam])): BeamProfile {
  const { from_mm: left_mm, to_mm, half_width_mm } = frame;
  const from_mm = beam.one_sided ? 0 : left_mm;
  const units_per_mm_along = (WIDTH - 2 * RIM) / (to_mm - left_mm);
  const units_per_mm_across = (HEIGHT / 2 - RIM) / half_width_mm;
  const waist_x = RIM - left_mm * units_per_mm_along;
  const axis_y = HEIGHT / 2;
  const x = (z_mm: number) => waist_x + z_mm * units_per_mm_along;
  const half = (z_mm: number) => halfWidth({ ...beam, z_mm }) * units_per_mm_across;
  const upper = Array.from({ length: POINTS + 1 }, (_, i) => {
    const z_mm = from_mm + (to_mm - from_mm) * i / POINTS;
    return { x: x(z_mm), y: axis_y - half(z_mm) };
  });
  return {
    width: WIDTH, height: HEIGHT, upper, axis_y, waist_x,
    focus_from_x: x(beam.one_sided ? 0 : -beam.rayleigh_range_mm), focus_to_x: x(beam.rayleigh_range_mm),
    tissue_x: x(beam.distance_mm), tissue_half: half(beam.distance_mm),
    units_per_mm_along, units_per_mm_across, stretch: units_per_mm_across / units_per_mm_along,
  };
}
