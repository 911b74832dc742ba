import "../../styles/drawings.css";
import "../../styles/check-pictures.css";
import { t } from "../../text";

export type CheckPicture = "aiming_beam" | "test_exposure" | "nozzle";

/** A line drawing beside an item of a list; what it shows stands in words below it. */
export function CheckDrawing({ picture }: { picture: CheckPicture }) {
  const Drawing = DRAWINGS[picture];
  const w = t.checks.pictures[picture];
  return (
    <figure class="drawing check-picture" data-testid={`picture-${picture}`}>
      <Drawing />
      <figcaption class="small"><span class="strong">{w.title}</span><span class="soft">{w.text}</span></figcaption>
    </figure>
  );
}

/** The dot in the mark of a test exposure, and beside it; each with its word and its sign. */
function AimingBeam() {
  const w = t.checks.pictures.aiming_beam;
  return (
    <svg viewBox="0 0 400 150" aria-hidden="true">
      <Mark x={100} dot={[100, 62]} sign="M84 118l8 8 16-18" word={w.right} />
      <Mark x={300} dot={[330, 40]} sign="M290 108l18 18m0-18l-18 18" word={w.wrong} />
    </svg>
  );
}

function Mark({ x, dot, sign, word }: { x: number; dot: [number, number]; sign: string; word: string }) {
  return (
    <>
      <rect class="paper" x={x - 70} y="10" width="140" height="90" rx="6" stroke="var(--edge)" />
      <circle class="gate" cx={x} cy="62" r="22" />
      <path class="rule" d={`M${x - 34} 62h68M${x} 28v68`} />
      <circle class="dot" cx={dot[0]} cy={dot[1]} r="9" />
      <path class="sign" d={sign} />
      <text x={x + 24} y="126">{word}</text>
    </>
  );
}

/** The handpiece above damp paper on a backing that does not burn. */
function TestExposure() {
  const w = t.checks.pictures.test_exposure;
  return (
    <svg viewBox="0 0 400 150" aria-hidden="true">
      <path class="body" d="M92 4h36l-6 48h-24Z" />
      <path class="waist" d="M110 54v38" />
      <path class="damp" d="M20 96q12-8 24 0t24 0t24 0t24 0t24 0t24 0t24 0v10H20Z" />
      <rect class="backing" x="10" y="108" width="190" height="26" rx="3" />
      <text x="214" y="104">{w.paper}</text>
      <text x="214" y="134">{w.backing}</text>
    </svg>
  );
}

/** The nozzle, the site, and how far they may be apart. */
function Nozzle() {
  const w = t.checks.pictures.nozzle;
  return (
    <svg viewBox="0 0 400 150" aria-hidden="true">
      <path class="tissue" d="M14 122h372" />
      <circle class="dot" cx="80" cy="122" r="9" />
      <text x="36" y="148">{w.site}</text>
      <path class="body" d="M236 84l120-76 30 22-128 84Z" />
      <path class="curve" d="M92 108q40-34 66-12t64-2" />
      <path class="gate" d="M80 40v66M246 40v34M80 54h166M92 46l-12 8 12 8M234 46l12 8-12 8" />
      <text x="96" y="34">{w.distance}</text>
    </svg>
  );
}

const DRAWINGS = { aiming_beam: AimingBeam, test_exposure: TestExposure, nozzle: Nozzle } as const;
