/** A room as it is being drawn: texts in centimetres, and what is wrong with them. Pure. */
import { crosses, isInside, wallOf, type Point } from "../../parts/drawings/room-shapes";
import type { RoomPlanSaid } from "../../session/rooms";

export interface PointForm { x: string; y: string }
export interface OpeningForm { kind: string; wall: number; from: string; width: string }
export interface ChairForm extends PointForm { turn: string }
export interface RoomForm { name: string; corners: PointForm[]; openings: OpeningForm[]; chairs: ChairForm[]; source: PointForm }

export type Wrongs = Record<string, "number" | "corners" | "crossing" | "wall" | "outside" | "name" | "turn">;

const cm = (mm: number): string => String(mm / 10);

export function formOf(plan: RoomPlanSaid): RoomForm {
  return {
    name: plan.name,
    corners: plan.corners.map(({ x_mm, y_mm }) => ({ x: cm(x_mm), y: cm(y_mm) })),
    openings: plan.openings.map(({ kind, wall, from_mm, width_mm }) => ({ kind, wall, from: cm(from_mm), width: cm(width_mm) })),
    chairs: plan.chairs.map(({ x_mm, y_mm, turn_deg }) => ({ x: cm(x_mm), y: cm(y_mm), turn: String(turn_deg) })),
    source: { x: cm(plan.source.x_mm), y: cm(plan.source.y_mm) },
  };
}

/** A rectangle with one chair in its middle; sides in whole centimetres. */
export function rectangle(name: string, width_cm: number, depth_cm: number): RoomForm {
  const middle = { x: String(Math.round(width_cm / 2)), y: String(Math.round(depth_cm / 2)) };
  const corner = (x: number, y: number): PointForm => ({ x: String(x), y: String(y) });
  return {
    name,
    corners: [corner(0, 0), corner(width_cm, 0), corner(width_cm, depth_cm), corner(0, depth_cm)],
    openings: [], chairs: [{ ...middle, turn: "0" }], source: middle,
  };
}

/** Whole centimetres, at most 100 m; null for anything else. */
export function centimetres(text: string): number | null {
  return /^\d{1,5}$/.test(text.trim()) && Number(text) <= 10_000 ? Number(text) : null;
}

const point = (form: PointForm): Point | null => {
  const [x, y] = [centimetres(form.x), centimetres(form.y)];
  return x === null || y === null ? null : { x_mm: x * 10, y_mm: y * 10 };
};

/** The plan that the form means, or what is wrong with it by field. */
export function planFrom(form: RoomForm): { plan: RoomPlanSaid | null; wrong: Wrongs } {
  const wrong: Wrongs = {};
  if (form.name.trim() === "") wrong["name"] = "name";
  const corners = form.corners.map((one, i) => {
    const found = point(one);
    if (found === null) wrong[`corner-${i}`] = "number";
    return found;
  });
  const sound = corners.every((one) => one !== null) ? (corners as Point[]) : null;
  if (form.corners.length < 3) wrong["corners"] = "corners";
  else if (sound && crosses(sound)) wrong["corners"] = "crossing";
  const openings = form.openings.map((one, i) => {
    const [from, width] = [centimetres(one.from), centimetres(one.width)];
    const wall = sound === null ? null : wallOf(sound, one.wall);
    if (from === null || width === null || width === 0) wrong[`opening-${i}`] = "number";
    else if (sound && (wall === null || from * 10 + width * 10 > wall.length_mm + 1)) wrong[`opening-${i}`] = "wall";
    return { kind: one.kind, wall: one.wall, from_mm: (from ?? 0) * 10, width_mm: (width ?? 0) * 10 };
  });
  const placed = (name: string, one: PointForm): Point => {
    const found = point(one);
    if (found === null) wrong[name] = "number";
    else if (sound && !wrong["corners"] && !isInside(sound, found)) wrong[name] = "outside";
    return found ?? { x_mm: 0, y_mm: 0 };
  };
  const chairs = form.chairs.map((one, i) => {
    const turn = /^\d{1,3}$/.test(one.turn.trim()) && Number(one.turn) < 360 ? Number(one.turn) : null;
    const at = placed(`chair-${i}`, one);
    if (turn === null) wrong[`chair-${i}`] ??= "turn";
    return { ...at, turn_deg: turn ?? 0 };
  });
  const source = placed("source", form.source);
  if (Object.keys(wrong).length > 0 || sound === null) return { plan: null, wrong };
  return { plan: { name: form.name.trim(), corners: sound, openings, chairs, source }, wrong };
}
