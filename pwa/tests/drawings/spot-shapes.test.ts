/** The spot on its grid and the beam along its axis. Expected values by hand. */
import { describe, expect, it } from "vitest";
import { beamProfile, type DrawableBeam, drawable, halfWidth, profileFrame, spotOnGrid } from "../../src/parts/drawings/spot-shapes";

describe("spot on the grid", () => {
  it.each([
    // diameter, square, squares, radius in squares: a 0.25 mm spot is 0.25 of a square across.
    [0.25, 1, 2, 0.125], [0.8, 1, 2, 0.4], [1.5, 1, 2, 0.75], [1.6, 1, 4, 0.8], [4, 1, 6, 2],
    [11, 1, 12, 5.5], [12, 10, 2, 0.6], [40, 10, 6, 2],
  ])("%s mm", (spot_diameter_mm, square_mm, squares, radius_squares) => {
    const grid = spotOnGrid({ spot_diameter_mm });
    expect(grid).toMatchObject({ square_mm, squares });
    expect(grid.radius_squares).toBeCloseTo(radius_squares, 12);
    expect(grid.lines).toHaveLength(squares + 1);
  });

  it("draws two spots to the scale of the wider one", () => {
    const narrow = spotOnGrid({ spot_diameter_mm: 0.25, with_diameter_mm: 4 });
    expect([narrow.squares, narrow.square_mm, narrow.radius_squares]).toEqual([6, 1, 0.125]);
  });
});

describe("beam along its axis", () => {
  // design/dose section 3 (LightPipes agrees): 10.6 um, w0 100 um, M2 1: zR = pi w0^2 / lambda = 2.963767 mm.
  const waist = { waist_diameter_mm: 0.2, rayleigh_range_mm: Math.PI * 0.01 / 0.0106 };
  it.each([[0, 100], [1, 105.5388], [2, 120.6390], [3, 142.2885], [5, 196.1151], [8, 287.8549], [10, 351.9154]])(
    "is at %s mm from the waist %s um from axis to edge", (z_mm, um) => {
      expect(halfWidth({ ...waist, z_mm }) * 1000).toBeCloseTo(um, 3);
      expect(halfWidth({ ...waist, z_mm: -z_mm })).toBe(halfWidth({ ...waist, z_mm }));
    });

  // Rayleigh range 2 mm, tissue at 2 mm: the picture reaches 3 mm either side, 580 units for 6 mm.
  const beam: DrawableBeam = { spot_diameter_mm: 0.2 * Math.SQRT2, waist_diameter_mm: 0.2, rayleigh_range_mm: 2, distance_mm: 2, one_sided: false };
  const edge_mm = 0.1 * Math.sqrt(1 + 9 / 4);

  it("lays waist, focus and tissue where they are", () => {
    const p = beamProfile(beam);
    expect([p.width, p.height, p.axis_y]).toEqual([600, 220, 110]);
    expect(p.waist_x).toBeCloseTo(300, 9);
    expect(p.units_per_mm_along).toBeCloseTo(580 / 6, 9);
    expect(p.focus_from_x).toBeCloseTo(300 - 2 * 580 / 6, 9);
    expect(p.focus_to_x).toBeCloseTo(300 + 2 * 580 / 6, 9);
    expect(p.tissue_x).toBeCloseTo(p.focus_to_x, 9);
    expect(p.units_per_mm_across).toBeCloseTo(100 / edge_mm, 9);
    expect(p.tissue_half).toBeCloseTo(0.1 * Math.SQRT2 * 100 / edge_mm, 9);
    expect(p.stretch).toBeCloseTo(100 / edge_mm / (580 / 6), 9);
  });

  it("draws the edge from end to end, narrowest at the waist", () => {
    const { upper } = beamProfile(beam);
    expect(upper[0]).toMatchObject({ x: 10 });
    expect(upper[0]!.y).toBeCloseTo(10, 9);
    expect(upper.at(-1)!.x).toBeCloseTo(590, 9);
    const middle = upper[upper.length / 2 | 0]!;
    expect(middle.x).toBeCloseTo(300, 9);
    expect(middle.y).toBeCloseTo(110 - 0.1 * 100 / edge_mm, 9);
    expect(Math.max(...upper.map((point) => point.y))).toBe(middle.y);
  });

  it("starts at the end of a waveguide", () => {
    const p = beamProfile({ ...beam, one_sided: true });
    // All 580 units for the 3 mm before the tip.
    expect(p.upper[0]!.x).toBe(10);
    expect(p.focus_from_x).toBe(10);
    expect(p.tissue_x).toBeCloseTo(10 + 2 * 580 / 3, 9);
  });

  it("draws two beams to one scale", () => {
    const far: DrawableBeam = { ...beam, distance_mm: 8 };
    const frame = profileFrame([beam, far]);
    expect([frame.from_mm, frame.to_mm]).toEqual([-10, 10]);
    expect(beamProfile(beam, frame).units_per_mm_along).toBe(beamProfile(far, frame).units_per_mm_along);
    expect(beamProfile(beam, frame).units_per_mm_across).toBe(beamProfile(far, frame).units_per_mm_across);
  });

  it("draws nothing of a beam that is known by its spot alone", () => {
    expect(drawable({ ...beam, waist_diameter_mm: null })).toBe(false);
    expect(drawable({ ...beam, rayleigh_range_mm: null })).toBe(false);
  });
});
