import { PulseDrawing } from "../../parts/drawings/pulses";
import { trainFrame } from "../../parts/drawings/pulse-shapes";
import { SpotDrawing } from "../../parts/drawings/spot";
import { drawable, profileFrame } from "../../parts/drawings/spot-shapes";
import { t } from "../../text";
import type { Judged } from "./judge";
import { beamOf, emissionOf } from "./pictures";

/** The spots and the pulses of both, each pair to one scale where that can be drawn. */
export function BothDrawn({ a, b }: { a: Judged; b: Judged }) {
  if (!a.outcome?.ok || !b.outcome?.ok) return null;
  const sides = ([["a", a.composed.settings, a.outcome.response], ["b", b.composed.settings, b.outcome.response]] as const)
    .map(([side, settings, response]) => ({ side, beam: beamOf(settings, response), emission: emissionOf(settings, response) }));
  const beams = sides.flatMap(({ beam }) => (beam ? [beam] : []));
  const widest_mm = Math.max(0, ...beams.map((beam) => beam.spot_diameter_mm));
  const frame = beams.some(drawable) ? profileFrame(beams) : undefined;
  const time = trainFrame(sides.map(({ emission }) => emission));
  return (
    <section class="sheet" aria-label={t.compare.drawings} data-testid="compare-drawings">
      <h2>{t.compare.drawings}</h2>
      <h3>{t.drawing.spot}</h3>
      {sides.map(({ side, beam }) => (beam ? <div key={side}><p class="strong">{t.compare.sides[side]}</p><SpotDrawing id={`compare-spot-${side}`} beam={beam} with_diameter_mm={widest_mm} frame={frame} /></div> : null))}
      <h3>{t.drawing.train}</h3>
      {time ? null : <p class="small" data-testid="compare-own-scales">{t.compare.ownScales}</p>}
      {sides.map(({ side, emission }) => <div key={side}><p class="strong">{t.compare.sides[side]}</p><PulseDrawing id={`compare-pulses-${side}`} emission={emission} frame={time} /></div>)}
    </section>
  );
}
