/** From a series of checks to shapes: values over time between their limits, to scale. */

/** One check as it is drawn. */
export interface TrendDot {
  id: string;
  at_ms: number;
  value: number;
  /** The smoothed value; null before there is a baseline. */
  z: number | null;
  /** What it is told apart by: shape, never colour. */
  shape: "baseline" | "left_out" | "watched" | "limits" | "ewma" | "failed";
  /** Which stretch between restarts it belongs to. */
  part: number;
}
/** What holds for one stretch between restarts; null where there is no baseline. */
export interface TrendBand { part: number; center: number | null; low: number | null; high: number | null }
export interface TrendMark { at_ms: number; kind: "restart" | "cleaning" }
export interface TrendSeries { dots: readonly TrendDot[]; bands: readonly TrendBand[]; line: readonly [number, number] | null; marks: readonly TrendMark[] }

export const WIDTH = 600;
export const HEIGHT = 300;
/** Room at both sides, so that the first and the last shape are whole. */
const SIDE = 14;
/** A percentage that the scale goes by. */
const STEP = 0.05;

export interface LaidTrend {
  dots: (TrendDot & { x: number; y: number })[];
  /** The curve of the smoothed values, one for each stretch. */
  curves: string[];
  bands: { part: number; x: number; width: number; center_y: number; low_y: number; high_y: number }[];
  line_y: number[];
  marks: { x: number; kind: TrendMark["kind"] }[];
  /** Values of the scale and where they stand. */
  steps: { value: number; y: number }[];
}

export function layTrend({ dots, bands, line, marks }: TrendSeries): LaidTrend {
  const times = dots.map(({ at_ms }) => at_ms);
  const [first, last] = [Math.min(...times), Math.max(...times)];
  const x = (at_ms: number): number => (last === first ? WIDTH / 2 : SIDE + (WIDTH - 2 * SIDE) * (at_ms - first) / (last - first));
  const [low, high] = rangeOf(dots.map(({ value }) => value), bands, line);
  const y = (value: number): number => HEIGHT * (high - value) / (high - low);
  const laid = dots.map((dot) => ({ ...dot, x: x(dot.at_ms), y: y(dot.value) }));
  const parts = [...new Set(dots.map(({ part }) => part))];
  return {
    dots: laid,
    curves: parts.flatMap((part) => {
      const smoothed = dots.filter((dot) => dot.part === part && dot.z !== null).map((dot) => `${round(x(dot.at_ms))} ${round(y(dot.z!))}`);
      return smoothed.length > 1 ? [`M${smoothed.join("L")}`] : [];
    }),
    bands: bands.flatMap((band) => {
      const mine = laid.filter(({ part }) => part === band.part);
      if (band.center === null || band.low === null || band.high === null || mine.length === 0) return [];
      const [from, to] = [mine[0]!.x - SIDE, mine[mine.length - 1]!.x + SIDE];
      return [{ part: band.part, x: from, width: to - from, center_y: y(band.center), low_y: y(band.low), high_y: y(band.high) }];
    }),
    line_y: (line ?? []).map(y),
    marks: marks.filter(({ at_ms }) => at_ms >= first && at_ms <= last).map(({ at_ms, kind }) => ({ x: x(at_ms), kind })),
    steps: stepsOf(low, high).map((value) => ({ value, y: y(value) })),
  };
}

/** Whole steps that hold every value, every limit and the 20 % line. */
function rangeOf(values: readonly number[], bands: readonly TrendBand[], line: TrendSeries["line"]): [number, number] {
  const all = [...values, ...bands.flatMap(({ low, high }) => [low, high]), ...(line ?? [])].filter((one) => one !== null);
  const low = Math.floor(Math.min(...all) / STEP - 0.2) * STEP;
  return [low, Math.max(Math.ceil(Math.max(...all) / STEP + 0.2) * STEP, low + 2 * STEP)];
}

/** At most six values of the scale. */
function stepsOf(low: number, high: number): number[] {
  const every = STEP * Math.ceil((high - low) / STEP / 6);
  return Array.from({ length: Math.floor((high - low) / every + 1e-9) + 1 }, (_, n) => low + n * every);
}

const round = (one: number): number => Math.round(one * 10) / 10;

/** The dot that stands nearest to a place across the picture. */
export const nearest = (dots: readonly { id: string; x: number }[], x: number): string | null =>
  dots.reduce<{ id: string; x: number } | null>((best, dot) => (best && Math.abs(best.x - x) <= Math.abs(dot.x - x) ? best : dot), null)?.id ?? null;
