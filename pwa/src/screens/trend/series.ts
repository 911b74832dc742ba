/** A trend as what the drawing and the table show. */
import type { TrendDot, TrendMark, TrendSeries } from "../../parts/drawings/trend-shapes";
import { INDIVIDUALS_WIDTH } from "../../session/charts";
import type { Cleaning } from "../../session/optics";
import type { Point, Restart, Trend } from "../../session/trend";

/** More do not fit side by side; the table has all. */
export const MOST_DRAWN = 60;

export const shapeOf = ({ role, signals }: Pick<Point, "role" | "signals">): TrendDot["shape"] => {
  if (signals.includes("failed")) return "failed";
  if (role !== "watched") return role;
  return signals.includes("limits") ? "limits" : signals.includes("ewma") ? "ewma" : "watched";
};

export function seriesOf(trend: Trend, cleanings: readonly Cleaning[], restarts: readonly Restart[]): TrendSeries {
  const drawn = trend.points.slice(-MOST_DRAWN);
  return {
    dots: drawn.map((point) => ({
      id: point.check.check_id, at_ms: Date.parse(point.check.at), value: point.check.value, z: point.smoothed?.z ?? null, shape: shapeOf(point), part: point.part,
    })),
    bands: trend.parts.map(({ center, sigma }, part) => ({
      part, center,
      low: center === null || sigma === null ? null : center - INDIVIDUALS_WIDTH * sigma,
      high: center === null || sigma === null ? null : center + INDIVIDUALS_WIDTH * sigma,
    })).filter(({ part }) => drawn.some((point) => point.part === part)),
    line: trend.line,
    marks: [
      ...restarts.map(({ at }): TrendMark => ({ at_ms: Date.parse(at), kind: "restart" })),
      ...cleanings.map(({ done_at }): TrendMark => ({ at_ms: Date.parse(done_at), kind: "cleaning" })),
    ],
  };
}
