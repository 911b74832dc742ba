import "../../styles/drawings.css";
import { t } from "../../text";
import { beamProfile, type BeamSizes, drawable, type ProfileFrame, profileFrame, spotOnGrid } from "./spot-shapes";
import { beamSentences, spotSentences } from "./spot-words";

const SIDE = 240;

interface Props {
  id: string;
  beam: BeamSizes;
  /** The other spot of a comparison, for one scale. */
  with_diameter_mm?: number;
  frame?: ProfileFrame | undefined;
}

/** The spot on a millimetre grid and the beam that makes it; the words below say the same. */
export function SpotDrawing({ id, beam, with_diameter_mm = 0, frame }: Props) {
  return (
    <figure class="drawing" data-testid={id}>
      <div class="pictures">
        <Grid beam={beam} with_diameter_mm={with_diameter_mm} />
        {drawable(beam) ? <Side beam={beam} frame={frame} /> : null}
      </div>
      <figcaption class="small" aria-live="polite">
        <p data-testid={`${id}-words`}>{spotSentences(beam, with_diameter_mm).join(" ")}</p>
        <p data-testid={`${id}-beam`}>{beamSentences(beam, frame).join(" ")}</p>
      </figcaption>
    </figure>
  );
}

function Grid({ beam, with_diameter_mm }: { beam: BeamSizes; with_diameter_mm: number }) {
  const grid = spotOnGrid({ spot_diameter_mm: beam.spot_diameter_mm, with_diameter_mm });
  const unit = SIDE / grid.squares;
  return (
    <svg class="grid" viewBox={`-1 -1 ${SIDE + 2} ${SIDE + 2}`} aria-hidden="true">
      <rect class="paper" width={SIDE} height={SIDE} />
      {grid.lines.map((at) => <path key={at} class="rule" d={`M${at * unit} 0V${SIDE}M0 ${at * unit}H${SIDE}`} />)}
      <circle class="spot" cx={SIDE / 2} cy={SIDE / 2} r={grid.radius_squares * unit} />
    </svg>
  );
}

function Side({ beam, frame }: { beam: Parameters<typeof beamProfile>[0]; frame: ProfileFrame | undefined }) {
  const p = beamProfile(beam, frame ?? profileFrame([beam]));
  const down = p.upper.map(({ x, y }) => `${x.toFixed(1)} ${(2 * p.axis_y - y).toFixed(1)}`).reverse();
  const up = p.upper.map(({ x, y }) => `${x.toFixed(1)} ${y.toFixed(1)}`);
  const w = t.drawing;
  return (
    <svg class="side" viewBox={`0 -44 ${p.width} ${p.height + 124}`} aria-hidden="true">
      <rect class="focus" x={p.focus_from_x} y={0} width={p.focus_to_x - p.focus_from_x} height={p.height} />
      <polygon class="beam" points={[...up, ...down].join(" ")} />
      <path class="axis" d={`M0 ${p.axis_y}H${p.width}`} />
      <path class="waist" d={`M${p.waist_x} 0V${p.height}`} />
      <path class="tissue" d={`M${p.tissue_x} 0V${p.height}`} />
      <path class="tissue-spot" d={`M${p.tissue_x} ${p.axis_y - p.tissue_half}V${p.axis_y + p.tissue_half}`} />
      <text x={p.waist_x} y={p.height + 32} text-anchor={beam.one_sided ? "start" : "middle"}>{beam.one_sided ? w.labelTip : w.labelWaist}</text>
      <text x={p.tissue_x} y={-12} text-anchor={p.tissue_x > p.width - 70 ? "end" : "middle"}>{w.labelTissue}</text>
      <text x={(p.focus_from_x + p.focus_to_x) / 2} y={p.height + 68} text-anchor="middle">{w.labelFocus}</text>
    </svg>
  );
}
