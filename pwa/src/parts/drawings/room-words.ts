/** What the drawing of a room shows, in sentences. */
import { t } from "../../text";
import { distanceText } from "./room-numbers";
import { farthest_mm, reaches, type RoomPlan } from "./room-shapes";

export function roomSentences(
  plan: RoomPlan, distances: readonly { name: string; distance_mm: number }[], decided_mm: number | null,
): string[] {
  const words = t.rooms.drawing;
  const lines = [words.scale(distanceText(farthest_mm(plan)))];
  for (const one of reaches(plan, distances)) {
    const name = t.rooms.distances[one.name as keyof typeof t.rooms.distances] ?? one.name;
    const through = one.through.map(({ kind, distance_mm }) =>
      words.opening(t.rooms.opening[kind as "door" | "window"], distanceText(distance_mm)));
    const where = one.inside ? words.inside : words.everywhere;
    lines.push(`${name}: ${distanceText(one.distance_mm)}. ${where}${through.length > 0 ? ` ${words.through(through.join(", "))}` : ""}`);
  }
  if (decided_mm !== null) lines.push(words.decided(distanceText(decided_mm)));
  return lines;
}
