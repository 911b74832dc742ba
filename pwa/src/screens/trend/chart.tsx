import type { ComponentChildren } from "preact";
import { useSignal } from "@preact/signals";
import { Glyph, Mark, Press } from "../../parts/basics";
import { dateText, momentText } from "../../parts/dates";
import { More } from "../../parts/dose";
import type { TrendDot } from "../../parts/drawings/trend-shapes";
import { TrendDrawing, TrendKey } from "../../parts/drawings/trend";
import { cleaningsOf, restartsHere } from "../../session/optics";
import type { Trend } from "../../session/trend";
import { t } from "../../text";
import { percent } from "../facts";
import { MOST_DRAWN, seriesOf, shapeOf } from "./series";
import { meaningSentences, type Of } from "./words";

interface Props {
  id: string;
  device_id: string;
  title: string;
  trend: Trend;
  of: Of;
  /** What stands behind one check. */
  detail: (check_id: string) => ComponentChildren;
  children?: ComponentChildren;
}

/** One series: what it means, the drawing, the check that is chosen, and all of it as a table. */
export function Series({ id, device_id, title, trend, of, detail, children }: Props) {
  const chosen = useSignal<string | null>(trend.points.at(-1)?.check.check_id ?? null);
  const restarts = restartsHere(device_id);
  const [first, ...rest] = meaningSentences(trend, of, restarts);
  const quiet = ["empty", "steady", "no_baseline"].includes(trend.meaning.code);
  const shape = quiet ? (trend.meaning.code === "steady" ? "done" : "wait") : trend.meaning.code === "failed" ? "stop" : "warn";
  return (
    <section class="sheet stack" aria-label={title} data-testid={id}>
      <h2>{title}</h2>
      <p class="strong" data-testid={`${id}-meaning`}><Mark shape={shape}>{first}</Mark></p>
      {rest.map((sentence) => <p key={sentence}>{sentence}</p>)}
      {trend.points.length === 0 ? null : (
        <>
          <TrendDrawing id={`${id}-chart`} series={seriesOf(trend, cleaningsOf(device_id), restarts)} words={wordsOf(trend, of)} chosen={chosen.value}
            onChoose={(one) => { chosen.value = one; }} />
          <Key trend={trend} device_id={device_id} />
          <Chosen id={id} trend={trend} chosen={chosen.value} choose={(one) => { chosen.value = one; }} detail={detail} />
          <div class="no-print"><More id={`${id}-table`} title={t.trend.table}><Table trend={trend} of={of} choose={(one) => { chosen.value = one; }} /></More></div>
          <div class="trend-print"><Table trend={trend} of={of} choose={null} /></div>
        </>
      )}
      {children}
    </section>
  );
}

function Key({ trend, device_id }: { trend: Trend; device_id: string }) {
  const { dots, marks } = seriesOf(trend, cleaningsOf(device_id), restartsHere(device_id));
  const [from, to] = [dots[0]!.at_ms, dots[dots.length - 1]!.at_ms];
  const shapes = [...new Set<TrendDot["shape"]>(dots.map(({ shape }) => shape))];
  return <TrendKey shapes={shapes} marks={[...new Set(marks.filter(({ at_ms }) => at_ms >= from && at_ms <= to).map(({ kind }) => kind))]} />;
}

/** What the drawing shows, for whoever does not see it. */
function wordsOf({ points, parts, line }: Trend, of: Of): string {
  const w = t.trend;
  const drawn = points.slice(-MOST_DRAWN);
  const last = parts[parts.length - 1]!;
  const shown = (value: number) => percent(String(value));
  return [
    w.chart(drawn.length, dateText(drawn[0]!.check.at), dateText(drawn[drawn.length - 1]!.check.at)),
    ...(points.length > drawn.length ? [w.chartLast(drawn.length)] : []),
    ...(line ? [(of === "cuts" ? w.chartLineCuts : w.chartLine)(shown(line[0]), shown(line[1]))] : []),
    ...(last.center !== null && last.sigma !== null ? [w.chartLimits(shown(last.center), shown(last.center - 3 * last.sigma), shown(last.center + 3 * last.sigma))] : []),
  ].join(" ");
}

interface ChosenProps { id: string; trend: Trend; chosen: string | null; choose: (id: string) => void; detail: Props["detail"] }

function Chosen({ id, trend, chosen, choose, detail }: ChosenProps) {
  const at = trend.points.findIndex(({ check }) => check.check_id === chosen);
  const point = trend.points[at];
  if (!point) return null;
  const [before, after] = [trend.points[at - 1], trend.points[at + 1]];
  return (
    <div class="stack" data-testid={`${id}-chosen`}>
      <h3>{t.trend.chosen}</h3>
      <div class="row no-print">
        <Press id={`${id}-before`} disabled={!before} onPress={() => before && choose(before.check.check_id)}><span class="back-glyph"><Glyph shape="turn" /></span>{t.trend.before}</Press>
        <Press id={`${id}-after`} disabled={!after} onPress={() => after && choose(after.check.check_id)}>{t.trend.after}<Glyph shape="turn" /></Press>
      </div>
      <p aria-live="polite"><strong class="num">{percent(String(point.check.value))}</strong> <span class="small">{momentText(point.check.at)}, {t.trend.shapes[shapeOf(point)]}</span></p>
      {detail(point.check.check_id)}
    </div>
  );
}

/** The same numbers, the newest first; on paper nothing can be chosen. */
function Table({ trend, of, choose }: { trend: Trend; of: Of; choose: ((id: string) => void) | null }) {
  const w = t.trend;
  return (
    <div class="trend-scroll" {...(choose ? { tabIndex: 0, role: "region" as const, "aria-label": w.table } : {})}>
      <table class="trend-table">
        <thead><tr><th scope="col">{w.columns.when}</th><th scope="col">{of === "cuts" ? w.depthColumn : w.columns.value}</th><th scope="col">{w.columns.smoothed}</th><th scope="col">{w.columns.what}</th></tr></thead>
        <tbody>{[...trend.points].reverse().map((point) => (
          <tr key={point.check.check_id}>
            <th scope="row">{choose
              ? <button type="button" class="quiet" aria-label={w.showCheck(dateText(point.check.at))} onClick={() => choose(point.check.check_id)}>{dateText(point.check.at)}</button>
              : dateText(point.check.at)}</th>
            <td>{percent(String(point.check.value))}</td>
            <td>{point.smoothed ? percent(String(point.smoothed.z)) : "–"}</td>
            <td>{[shapeOf(point), ...point.signals].filter((one, n, all) => all.indexOf(one) === n).map((one) => w.shapes[one]).join("; ")}</td>
          </tr>
        ))}</tbody>
      </table>
    </div>
  );
}
