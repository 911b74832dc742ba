import "../../styles/drawings.css";
import { t } from "../../text";
import { type Laid, type PulseTrain, pulseTrain, type TrainFrame } from "./pulse-shapes";
import type { Emission } from "./pulse-times";
import { powerText, pulseSentences, timeText } from "./pulse-words";

/** What the beam does over time; the words below say the same. */
export function PulseDrawing({ id, emission, frame = null }: { id: string; emission: Emission; frame?: TrainFrame | null }) {
  const train = pulseTrain(emission, frame);
  return (
    <figure class="drawing" data-testid={id}>
      {train ? <Train train={train} emission={emission} /> : <Steady emission={emission} high_w={frame?.high_w ?? null} />}
      <figcaption class="small" aria-live="polite"><p data-testid={`${id}-words`}>{pulseSentences(emission, frame).join(" ")}</p></figcaption>
    </figure>
  );
}

function Train({ train, emission }: { train: PulseTrain; emission: Emission }) {
  const w = t.drawing;
  const top = train.peak_y ?? 24;
  const first = train.stretches.find((one) => one.on);
  return (
    <svg class="train" viewBox={`0 -44 ${train.width} ${train.height + 92}`} aria-hidden="true">
      {train.stretches.filter((one) => one.on).map((one) => (
        <rect key={one.x} class={train.peak_y === null ? "pulse unknown" : "pulse"} x={one.x} y={top} width={one.width} height={train.base_y - top} />
      ))}
      <path class="axis" d={`M0 ${train.base_y}H${train.width}`} />
      {train.gates.map((gate) => <path key={gate.x} class="gate" d={`M${gate.x} ${train.base_y + 8}v8H${gate.x + gate.width}v-8`} />)}
      {train.average_y === null || train.average_y === train.peak_y ? null : <path class="average" d={`M0 ${train.average_y}H${train.width}`} />}
      {train.stretches.filter((one) => one.cut).map((one) => <Break key={one.x} at={one} base_y={train.base_y} top={one.on ? top : train.base_y - 22} />)}
      {emission.pulse_duration_s !== null && first ? <text x={first.x + first.width + 6} y={top + 40}>{timeText(emission.pulse_duration_s)}</text> : null}
      {emission.peak_power_w === null ? null : <text x={0} y={top - 14}>{w.labelPeak} {powerText(emission.peak_power_w)}</text>}
      {emission.average_power_w === null || train.average_y === null ? null
        : <text x={train.width} y={Math.min(train.average_y, train.base_y - 6) - 8} text-anchor="end">{w.labelAverage} {powerText(emission.average_power_w)}</text>}
      {train.gates[0]
        ? <text x={0} y={train.height + 30}>{w.labelGate} {timeText(emission.gate_on_s ?? 0)}</text>
        : emission.pulse_period_s === null ? null : <Period train={train} text={timeText(emission.pulse_period_s)} />}
    </svg>
  );
}

/** A continuous beam: one height from end to end. */
function Steady({ emission, high_w }: { emission: Emission; high_w: number | null }) {
  const power = emission.peak_power_w ?? emission.average_power_w;
  if (power === null) return null;
  const height = 136 * power / (high_w ?? power);
  return (
    <svg class="train" viewBox="0 -44 600 224" aria-hidden="true">
      <rect class="pulse" x={0} y={160 - height} width={600} height={height} />
      <path class="axis" d="M0 160H600" />
      <text x={0} y={146 - height}>{powerText(power)}</text>
    </svg>
  );
}

/** From the start of one pulse to the start of the next. */
function Period({ train, text }: { train: PulseTrain; text: string }) {
  const [first, second] = train.stretches.filter((one) => one.on);
  if (!first || !second) return null;
  return (
    <>
      <path class="gate" d={`M${first.x} ${train.base_y + 8}v8H${second.x}v-8`} />
      <text x={0} y={train.height + 30}>{text}</text>
    </>
  );
}

/** Two strokes across what is not drawn at its length. */
function Break({ at, base_y, top }: { at: Laid; base_y: number; top: number }) {
  const x = at.x + at.width / 2;
  const bottom = base_y + 22;
  return (
    <>
      <path class="gap" d={`M${x - 9} ${bottom}L${x + 3} ${top - 6}h8L${x - 1} ${bottom}Z`} />
      <path class="break" d={`M${x - 9} ${bottom}L${x + 3} ${top - 6}M${x - 1} ${bottom}L${x + 11} ${top - 6}`} />
    </>
  );
}
