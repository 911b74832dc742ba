import "../../styles/drawings.css";
import { t } from "../../text";
import { BANDS_WIDTH, type DepthBand, depthScale, ROW } from "./depth-shapes";
import { depthText } from "./heat-words";

/** How deep, as bands on one scale; the words below say the same. */
export function DepthDrawing({ id, bands }: { id: string; bands: readonly DepthBand[] }) {
  const { rows, decades, height } = depthScale(bands);
  return (
    <figure class="drawing" data-testid={id}>
      <svg class="train" viewBox={`0 -8 ${BANDS_WIDTH} ${height + 52}`} aria-hidden="true">
        {decades.map(({ depth_um, x }) => <path key={depth_um} class="rule" d={`M${x} 0V${height}`} />)}
        {rows.map(({ band, x, width, y }) => (
          <g key={band.name}>
            <rect class={band.name === "thermal_damage" ? "pulse unknown" : "pulse"} x={x} y={y + 34} width={width} height={ROW - 40} />
            <text x={0} y={y + 24}>{t.heat.bands[band.name]}</text>
          </g>
        ))}
        <path class="axis" d={`M0 ${height}H${BANDS_WIDTH}`} />
        {decades.map(({ depth_um, x }, place) => (
          <text key={depth_um} x={x} y={height + 34} text-anchor={place === 0 ? "start" : place === decades.length - 1 ? "end" : "middle"}>{depthText(depth_um)}</text>
        ))}
      </svg>
      <figcaption class="small" aria-live="polite"><p data-testid={`${id}-words`}>{depthBandSentences(bands).join(" ")}</p></figcaption>
    </figure>
  );
}

export function depthBandSentences(bands: readonly DepthBand[]): string[] {
  const w = t.heat;
  return [
    ...bands.map(({ name, low_um, high_um }) => w.band(w.bands[name] ?? name, depthText(low_um), depthText(high_um))),
    w.decades,
    ...(bands.some(({ name }) => name === "thermal_damage") ? [w.measuredOnly] : []),
    ...(bands.some(({ name }) => name === "cut_depth") ? [w.idealCut] : []),
  ];
}
