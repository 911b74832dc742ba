import "../../styles/drawings.css";
import { t } from "../../text";
import { type HeatCurves, HEIGHT, overDepth, overTime, WIDTH } from "./heat-shapes";
import { celsiusText, depthSentences, depthText, timeSentences, timeText } from "./heat-words";

const BOX = `0 -44 ${WIDTH} ${HEIGHT + 92}`;

/** A simulation's curves over time and over depth; the words below each say the same. */
export function HeatDrawing({ id, curves }: { id: string; curves: HeatCurves }) {
  return (
    <div class="stack">
      <figure class="drawing" data-testid={`${id}-time`}>
        <Time curves={curves} />
        <figcaption class="small" aria-live="polite"><p data-testid={`${id}-time-words`}>{timeSentences(curves).join(" ")}</p></figcaption>
      </figure>
      <figure class="drawing" data-testid={`${id}-depth`}>
        <Depth curves={curves} />
        <figcaption class="small" aria-live="polite"><p data-testid={`${id}-depth-words`}>{depthSentences(curves).join(" ")}</p></figcaption>
      </figure>
    </div>
  );
}

function Time({ curves }: { curves: HeatCurves }) {
  const at = overTime(curves);
  const last_s = curves.times_s[curves.times_s.length - 1] ?? 0;
  return (
    <svg class="train" viewBox={BOX} aria-hidden="true">
      <Frame boiling_y={at.boiling_y} />
      <path class="curve" d={at.inside} />
      {at.ends_x === null ? null : <><path class="curve outside" d={at.outside} /><path class="gate" d={`M${at.ends_x} 0V${HEIGHT}`} /></>}
      <Boiling boiling_y={at.boiling_y} />
      {at.ends_x === null ? null : <text x={Math.min(at.ends_x + 8, WIDTH * 0.6)} y={HEIGHT / 2}>{t.heat.labelOutside}</text>}
      <text x={0} y={-14}>{t.heat.labelHighest} {celsiusText(Math.max(...curves.surface_cel))}</text>
      <text x={0} y={HEIGHT + 34}>0 s</text>
      <text x={WIDTH} y={HEIGHT + 34} text-anchor="end">{timeText(last_s)}</text>
    </svg>
  );
}

function Depth({ curves }: { curves: HeatCurves }) {
  const at = overDepth(curves);
  const [from, to] = at.measured_x;
  return (
    <svg class="train" viewBox={BOX} aria-hidden="true">
      <rect class="focus" x={from} y={0} width={to - from} height={HEIGHT} />
      <Frame boiling_y={at.boiling_y} />
      <path class="curve" d={at.line} />
      {curves.damage_um > 0 ? <path class="tissue" d={`M${at.damage_x} 0V${HEIGHT}`} /> : null}
      {curves.damage_um > 0 ? <text x={at.damage_x + 8} y={HEIGHT - 12}>{t.heat.labelDamage}</text> : null}
      <Boiling boiling_y={at.boiling_y} />
      <text x={(from + to) / 2} y={-14} text-anchor="middle">{t.heat.labelMeasured}</text>
      <text x={0} y={HEIGHT + 34}>{t.heat.labelSurface}</text>
      <text x={WIDTH} y={HEIGHT + 34} text-anchor="end">{depthText(at.deepest_um)}</text>
    </svg>
  );
}

/** The foot of the picture, and the line of boiling. */
function Frame({ boiling_y }: { boiling_y: number }) {
  return (
    <>
      <path class="axis" d={`M0 ${HEIGHT}H${WIDTH}`} />
      <path class="waist" d={`M0 ${boiling_y}H${WIDTH}`} />
    </>
  );
}

/** Its name, above the curve. */
function Boiling({ boiling_y }: { boiling_y: number }) {
  return <text x={WIDTH} y={boiling_y - 8} text-anchor="end">100 °C</text>;
}
