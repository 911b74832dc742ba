import "../../styles/drawings.css";
import "../../styles/trend.css";
import { localNumbers, t } from "../../text";
import { HEIGHT, layTrend, nearest, type TrendDot, type TrendSeries, WIDTH } from "./trend-shapes";

/** Room for the numbers of the scale. */
const LEFT = 104;
const RIGHT = 10;

interface Props { id: string; series: TrendSeries; words: string; chosen: string | null; onChoose: (id: string) => void }

/** Checks over time between their limits. A touch anywhere chooses the check that stands nearest; the table below does so too. */
export function TrendDrawing({ id, series, words, chosen, onChoose }: Props) {
  const laid = layTrend(series);
  const choose = (event: MouseEvent) => {
    const box = (event.currentTarget as SVGElement).getBoundingClientRect();
    const found = nearest(laid.dots, (event.clientX - box.left) / box.width * (WIDTH + LEFT + RIGHT) - LEFT);
    if (found) onChoose(found);
  };
  return (
    <figure class="drawing trend" data-testid={id}>
      <svg viewBox={`${-LEFT} -20 ${WIDTH + LEFT + RIGHT} ${HEIGHT + 52}`} aria-hidden="true" onClick={choose}>
        {laid.steps.map(({ value, y }) => (
          <g key={value}><path class="rule" d={`M0 ${y}H${WIDTH}`} /><text x={-10} y={y + 8} text-anchor="end">{percentText(value)}</text></g>
        ))}
        {laid.line_y.map((y) => <path key={y} class="bound" d={`M0 ${y}H${WIDTH}`} />)}
        {laid.bands.map(({ part, x, width, center_y, low_y, high_y }) => (
          <g key={part}>
            <path class="center" d={`M${x} ${center_y}h${width}`} />
            <path class="limit" d={`M${x} ${low_y}h${width}M${x} ${high_y}h${width}`} />
          </g>
        ))}
        {laid.marks.map(({ x, kind }, n) => (kind === "restart"
          ? <path key={n} class="restart" d={`M${x} 0V${HEIGHT}`} />
          : <path key={n} class="cleaned" d={`M${x} ${HEIGHT - 2}l-9 18h18Z`} />))}
        <path class="axis" d={`M0 ${HEIGHT}H${WIDTH}`} />
        {laid.curves.map((d) => <path key={d} class="curve" d={d} />)}
        {laid.dots.map((dot) => <g key={dot.id} transform={`translate(${dot.x} ${dot.y})`}>
          {dot.id === chosen ? <circle class="chosen" r={16} /> : null}<DotShape shape={dot.shape} /></g>)}
      </svg>
      <figcaption class="small" aria-live="polite"><p data-testid={`${id}-words`}>{words}</p></figcaption>
    </figure>
  );
}

function DotShape({ shape }: { shape: TrendDot["shape"] }) {
  if (shape === "failed") return <path class="dot cross" d="M-8-8 8 8M-8 8 8-8" />;
  if (shape === "limits") return <path class="dot" d="M0-11 11 0 0 11-11 0Z" />;
  if (shape === "ewma") return <path class="dot" d="M0-10 10 8H-10Z" />;
  if (shape === "left_out") return <path class="dot hollow" d="M-7-7H7V7H-7Z" />;
  return <circle class={shape === "baseline" ? "dot hollow" : "dot"} r={6} />;
}

/** What each shape stands for; only those that are in the picture. */
export function TrendKey({ shapes, marks }: { shapes: readonly TrendDot["shape"][]; marks: readonly ("restart" | "cleaning")[] }) {
  return (
    <ul class="trend-key drawing trend">
      {shapes.map((shape) => <li key={shape}><svg viewBox="-14 -14 28 28" aria-hidden="true"><DotShape shape={shape} /></svg>{t.trend.shapes[shape]}</li>)}
      {marks.map((kind) => (
        <li key={kind}><svg viewBox="-14 -14 28 28" aria-hidden="true">
          {kind === "restart" ? <path class="restart" d="M0-14V14" /> : <path class="cleaned" d="M0-9l-9 18h18Z" />}</svg>{t.trend.marks[kind]}</li>
      ))}
    </ul>
  );
}

/** A ratio as a whole percentage. */
const percentText = (value: number): string => localNumbers(`${Number((value * 100).toFixed(0))}\u00a0%`);
