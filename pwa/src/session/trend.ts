/**
 * The trend of one laser's checks: parts between restarts, baselines, signals, what it means. Pure;
 * mirror of `api/devices/trend.py`, where what was decided stands.
 */
import { CUSUM_SLACK, cusum, ewma, INDIVIDUALS_WIDTH, mean, sigmaOfRanges, type Smoothed } from "./charts";
import { fit } from "./trend-line";

const DAY_MS = 86_400_000;
const DAYS_A_MONTH = 365.25 / 12;
const LINE = 0.2;
const LOOK_AHEAD_DAYS = 731;

/** What a series is judged by: how many checks a baseline takes, the least scatter that counts, and about what the 20 % line lies. */
export interface Rules { baseline: number; least_sigma: number; relative: boolean }
export const POWER: Rules = { baseline: 20, least_sigma: 0.005, relative: false };
export const CUTS: Rules = { baseline: 10, least_sigma: 0.02, relative: true };

/** One check: a ratio [1], and the meter's relative uncertainty with k = 2 [1]. */
export interface Check { check_id: string; at: string; value: number; uncertainty?: number; failed?: boolean }
export interface Restart { id: string; at: string }

export type Signal = "failed" | "limits" | "ewma";
export interface Point {
  check: Check;
  part: number;
  role: "baseline" | "left_out" | "watched";
  smoothed: Smoothed | null;
  signals: Signal[];
}

/** The checks from one restart to the next; centre and sigma once there is a baseline, `settled` how many it has so far. */
export interface Part { restart_id: string | null; settled: number; center: number | null; sigma: number | null }

/** What the last part says now. Rates are a month, in the unit of the values; `reaches` in days after the newest check. */
export interface Meaning {
  code: "empty" | "failed" | "no_baseline" | "beyond" | "drifting" | "steady";
  direction: "up" | "down" | null;
  since: string | null;
  rate: [number, number, number] | null;
  reaches: [number, number] | null;
}

export interface Trend { points: Point[]; parts: Part[]; line: [number, number] | null; meaning: Meaning }

/** Work out the trend of one series: one laser, tip and emission, or one set-up of cuts. */
export function trendOf(checks: readonly Check[], restarts: readonly Restart[] = [], rules: Rules = POWER): Trend {
  const points: Point[] = [];
  const parts: Part[] = [];
  for (const { restart_id, some } of divided(checks, restarts)) {
    const mine = some.map((check): Point => ({ check, part: parts.length, role: "baseline", smoothed: null, signals: [] }));
    parts.push(settle(mine, restart_id, rules));
    points.push(...mine);
  }
  const now = points.filter(({ part }) => part === parts.length - 1);
  const last = parts[parts.length - 1]!;
  const line = lineOf(now[now.length - 1]?.check, last, rules);
  return { points, parts, line, meaning: meaningOf(now, last, line) };
}

/** What should be said aloud of a trend: a failed, outlying or drifting newest check. */
export const trendAlarm = ({ meaning }: Pick<Trend, "meaning">): Meaning | null =>
  (["failed", "beyond", "drifting"].includes(meaning.code) ? meaning : null);

const moment = ({ at }: { at: string }): number => Date.parse(at);
const order = (a: readonly [number, string], b: readonly [number, string]): number => a[0] - b[0] || (a[1] < b[1] ? -1 : 1);

/** Checks from restart to restart; a restart that another follows with no check goes. */
function divided(checks: readonly Check[], restarts: readonly Restart[]): { restart_id: string | null; some: Check[] }[] {
  const turns = [...restarts].sort((a, b) => order([moment(a), a.id], [moment(b), b.id]));
  const parts: { restart_id: string | null; some: Check[] }[] = [{ restart_id: null, some: [] }];
  const turn = (before: number) => {
    while (turns.length > 0 && moment(turns[0]!) <= before) {
      if (parts[parts.length - 1]!.some.length === 0) parts.pop();
      parts.push({ restart_id: turns.shift()!.id, some: [] });
    }
  };
  for (const check of [...checks].sort((a, b) => order([moment(a), a.check_id], [moment(b), b.check_id]))) {
    turn(moment(check));
    parts[parts.length - 1]!.some.push(check);
  }
  turn(Infinity);
  return parts;
}

/** Give each point of a part its role and signals; the part. */
function settle(points: Point[], restart_id: string | null, rules: Rules): Part {
  for (const one of points) if (one.check.failed) Object.assign(one, { role: "left_out", signals: ["failed"] });
  for (;;) {
    const base = points.filter(({ role }) => role === "baseline").slice(0, rules.baseline);
    if (base.length < rules.baseline) return { restart_id, settled: base.length, center: null, sigma: null };
    const values = base.map(({ check }) => check.value);
    const center = mean(values);
    const sigma = Math.max(sigmaOfRanges(values), rules.least_sigma * (rules.relative ? center : 1));
    const outside = base.filter(({ check }) => isOutside(check.value, center, sigma));
    if (outside.length === 0) {
      watch(points.slice(points.indexOf(base[base.length - 1]!) + 1), center, sigma, rules);
      return { restart_id, settled: rules.baseline, center, sigma };
    }
    for (const one of outside) Object.assign(one, { role: "left_out", signals: ["limits"] });
  }
}

function watch(points: Point[], center: number, sigma: number, rules: Rules): void {
  const smoothed = ewma(points.map(({ check }) => check.value), { target: center, sigma });
  for (const [n, one] of points.entries()) {
    const now = smoothed[n]!;
    const { value, failed = false } = one.check;
    const found: Record<Signal, boolean> = {
      failed: failed || (rules.relative && Math.abs(value - center) > LINE * center),
      limits: isOutside(value, center, sigma),
      ewma: !(now.low <= now.z && now.z <= now.high),
    };
    const signals = (Object.keys(found) as Signal[]).filter((code) => found[code]);
    Object.assign(one, { role: "watched", smoothed: now, signals });
  }
}

const isOutside = (value: number, center: number, sigma: number): boolean => Math.abs(value - center) > INDIVIDUALS_WIDTH * sigma;

function lineOf(newest: Check | undefined, part: Part, rules: Rules): [number, number] | null {
  const middle = rules.relative ? part.center : 1;
  if (middle === null) return null;
  const half = Math.max(0, LINE - (newest?.uncertainty ?? 0)) * middle;
  return [middle - half, middle + half];
}

const plain = (code: Meaning["code"], direction: Meaning["direction"] = null, since: string | null = null): Meaning =>
  ({ code, direction, since, rate: null, reaches: null });

function meaningOf(points: readonly Point[], { center, sigma }: Part, line: Trend["line"]): Meaning {
  const newest = points[points.length - 1];
  if (!newest) return plain("empty");
  if (newest.signals.includes("failed")) return plain("failed");
  if (center === null || sigma === null || line === null) return plain("no_baseline");
  if (newest.signals.includes("ewma")) return drift(points, center, sigma, line);
  return newest.signals.includes("limits") ? plain("beyond", directionOf(newest.check.value, center)) : plain("steady");
}

/** When a drift began by CUSUM, and how fast it goes by a line through what came since. */
function drift(points: readonly Point[], center: number, sigma: number, line: [number, number]): Meaning {
  const watched = points.filter(({ smoothed }) => smoothed !== null);
  const direction = directionOf(watched[watched.length - 1]!.smoothed!.z, center);
  const values = watched.map(({ check }) => check.value);
  const side = cusum(values, { target: center, slack: CUSUM_SLACK * sigma }).map((sums) => (direction === "up" ? sums.high : sums.low));
  const since = watched.slice(Math.min(side.lastIndexOf(0) + 1, watched.length - 1)).map(({ check }) => check);
  const zero = moment(since[0]!);
  const days = since.map((check) => (moment(check) - zero) / DAY_MS);
  const fitted = fit(days, since.map(({ value }) => value), direction === "down" ? line[0] : line[1]);
  const said = plain("drifting", direction, since[0]!.check_id);
  if (!fitted || fitted.slope > 0 !== (direction === "up")) return said;
  const newest = days[days.length - 1]!;
  const reaches = fitted.meets?.map((day) => day - newest) as [number, number] | undefined;
  return {
    ...said,
    rate: [fitted.slope, fitted.slope_low, fitted.slope_high].map((slope) => slope * DAYS_A_MONTH) as [number, number, number],
    reaches: reaches && reaches[1] <= LOOK_AHEAD_DAYS ? reaches : null,
  };
}

const directionOf = (value: number, middle: number): "up" | "down" => (value > middle ? "up" : "down");
