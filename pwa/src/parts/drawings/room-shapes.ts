/** A room and its hazard distances as shapes, to scale. Pure: millimetres in, millimetres out. */

export interface Point { x_mm: number; y_mm: number }
export interface Opening { kind: string; wall: number; from_mm: number; width_mm: number }
export interface Chair extends Point { turn_deg: number }
export interface RoomPlan { corners: readonly Point[]; openings: readonly Opening[]; chairs: readonly Chair[]; source: Point }

export interface Segment { kind: string; from: Point; to: Point; middle: Point; distance_mm: number }

export interface Reach {
  name: string;
  distance_mm: number;
  /** Whether some place in the room lies beyond it: then its circle can be drawn. */
  inside: boolean;
  /** Openings that lie within it, nearest first. */
  through: readonly Segment[];
}

const apart = (a: Point, b: Point): number => Math.hypot(a.x_mm - b.x_mm, a.y_mm - b.y_mm);

const between = (a: Point, b: Point, part: number): Point =>
  ({ x_mm: a.x_mm + (b.x_mm - a.x_mm) * part, y_mm: a.y_mm + (b.y_mm - a.y_mm) * part });

/** The wall that begins at a corner, and its length. */
export function wallOf(corners: readonly Point[], wall: number): { from: Point; to: Point; length_mm: number } | null {
  const from = corners[wall];
  const to = corners[(wall + 1) % corners.length];
  return from && to ? { from, to, length_mm: apart(from, to) } : null;
}

/** The distance from a point to the nearest place of a segment. */
export function toSegment(point: Point, from: Point, to: Point): number {
  const length = apart(from, to);
  if (length === 0) return apart(point, from);
  const along = ((point.x_mm - from.x_mm) * (to.x_mm - from.x_mm) + (point.y_mm - from.y_mm) * (to.y_mm - from.y_mm)) / length ** 2;
  return apart(point, between(from, to, Math.min(1, Math.max(0, along))));
}

/** Doors and windows where they stand, with the distance from where the beam is used. */
export function segments(plan: RoomPlan): Segment[] {
  return plan.openings.flatMap((opening) => {
    const wall = wallOf(plan.corners, opening.wall);
    if (wall === null || wall.length_mm === 0) return [];
    const from = between(wall.from, wall.to, opening.from_mm / wall.length_mm);
    const to = between(wall.from, wall.to, (opening.from_mm + opening.width_mm) / wall.length_mm);
    return [{ kind: opening.kind, from, to, middle: between(from, to, 0.5), distance_mm: toSegment(plan.source, from, to) }];
  });
}

/** How far the farthest corner is from where the beam is used. */
export function farthest_mm(plan: RoomPlan): number {
  return Math.max(0, ...plan.corners.map((corner) => apart(plan.source, corner)));
}

/** Whether a point lies inside the corners (even-odd rule). */
export function isInside(corners: readonly Point[], point: Point): boolean {
  let inside = false;
  corners.forEach((a, i) => {
    const b = corners[(i + 1) % corners.length]!;
    const crosses = (a.y_mm > point.y_mm) !== (b.y_mm > point.y_mm) &&
      point.x_mm < a.x_mm + (b.x_mm - a.x_mm) * (point.y_mm - a.y_mm) / (b.y_mm - a.y_mm);
    if (crosses) inside = !inside;
  });
  return inside;
}

/** Whether two walls that do not meet cut each other: then the corners stand in the wrong order. */
export function crosses(corners: readonly Point[]): boolean {
  const turn = (a: Point, b: Point, c: Point): number =>
    Math.sign((b.x_mm - a.x_mm) * (c.y_mm - a.y_mm) - (b.y_mm - a.y_mm) * (c.x_mm - a.x_mm));
  const n = corners.length;
  for (let i = 0; i < n; i += 1) {
    for (let j = i + 2; j < n; j += 1) {
      if (i === 0 && j === n - 1) continue;
      const [a, b] = [corners[i]!, corners[(i + 1) % n]!];
      const [c, d] = [corners[j]!, corners[(j + 1) % n]!];
      if (turn(a, b, c) !== turn(a, b, d) && turn(c, d, a) !== turn(c, d, b)) return true;
    }
  }
  return false;
}

/** What each distance means in this room. */
export function reaches(plan: RoomPlan, distances: readonly { name: string; distance_mm: number }[]): Reach[] {
  const far_mm = farthest_mm(plan);
  const openings = segments(plan).sort((a, b) => a.distance_mm - b.distance_mm);
  return distances.map(({ name, distance_mm }) => ({
    name, distance_mm,
    inside: distance_mm < far_mm,
    through: openings.filter((one) => one.distance_mm < distance_mm),
  }));
}

export interface Frame { x_mm: number; y_mm: number; width_mm: number; height_mm: number; metres: { x: number[]; y: number[] } }

/** The part of the plane that is drawn: the room with a margin, ruled in metres from its first corner. */
export function frameOf(corners: readonly Point[], margin_mm = 350): Frame {
  const xs = corners.map((corner) => corner.x_mm);
  const ys = corners.map((corner) => corner.y_mm);
  const [left, top] = [Math.min(...xs), Math.min(...ys)];
  const [right, bottom] = [Math.max(...xs), Math.max(...ys)];
  const rule = (from: number, to: number): number[] =>
    Array.from({ length: Math.floor((to - from) / 1000) + 1 }, (_, i) => from + i * 1000);
  return {
    x_mm: left - margin_mm, y_mm: top - margin_mm,
    width_mm: right - left + 2 * margin_mm, height_mm: bottom - top + 2 * margin_mm,
    metres: { x: rule(left, right), y: rule(top, bottom) },
  };
}
