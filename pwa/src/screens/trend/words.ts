/** What a trend means, in sentences. */
import { dateText } from "../../parts/dates";
import type { Restart, Trend } from "../../session/trend";
import { CUTS, POWER } from "../../session/trend";
import { t } from "../../text";
import { percent } from "../facts";

export type Of = "power" | "cuts";
const DAY_MS = 86_400_000;

/** The sentences about a series, the most important first. `restarts` are those of its laser. */
export function meaningSentences({ meaning, points, parts }: Trend, of: Of, restarts: readonly Restart[] = []): string[] {
  const w = t.trend;
  const part = parts[parts.length - 1]!;
  const newest = points[points.length - 1]?.check;
  const { code, direction, rate, reaches } = meaning;
  if (code === "empty") {
    const began = restarts.find(({ id }) => id === part.restart_id);
    return [began ? w.emptySince(dateText(began.at)) : w.empty];
  }
  if (code === "failed") return [of === "cuts" ? w.failedCut : w.failed, ...(part.center === null ? [few(part.settled, of)] : [])];
  if (code === "no_baseline") return [few(part.settled, of)];
  if (code === "steady") return [points.some((one) => one.part === parts.length - 1 && one.role === "watched") ? w.steady : w.steadyNew];
  const side = direction ?? "down";
  const advice = side === "down" ? [w.clean] : [];
  if (code === "beyond") return [w.beyond[side], ...advice];
  const since = dateText(points.find(({ check }) => check.check_id === meaning.since)?.check.at);
  const scale = of === "cuts" ? part.center ?? 1 : 1;
  const sizes = (rate ?? []).map((one) => Math.abs(one) / scale);
  const [about, one = 0, other = 0] = sizes;
  const sentences = [about === undefined ? w.lower[side](since)
    : w.drifting[side](since, percent(String(about)), percent(String(Math.min(one, other))), percent(String(Math.max(one, other))))];
  if (reaches && newest) {
    const [from, to] = reaches.map((days) => dateText(new Date(Date.parse(newest.at) + days * DAY_MS).toISOString()));
    sentences.push(w.reaches(from!, to!));
  }
  return [...sentences, ...advice];
}

const few = (settled: number, of: Of): string =>
  (of === "cuts" ? t.trend.noBaselineCuts(settled, CUTS.baseline) : t.trend.noBaseline(settled, POWER.baseline));
