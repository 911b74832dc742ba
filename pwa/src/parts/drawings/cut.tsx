import "../../styles/drawings.css";
import { t } from "../../text";

/** The stack of damp paper cut across: what is measured as the depth of a test cut. The words below say it. */
export function CutDrawing({ id }: { id: string }) {
  const w = t.trend;
  const sheets = Array.from({ length: 9 }, (_, n) => 60 + n * 16);
  return (
    <figure class="drawing" data-testid={id}>
      <svg class="train" viewBox="0 0 600 300" aria-hidden="true">
        <path class="paper" d="M90 60H280L300 156 320 60H510V204H90Z" />
        {sheets.map((y) => <path key={y} class="rule" d={y < 156 ? `M90 ${y}H${280 + 20 * (y - 60) / 96}M${320 - 20 * (y - 60) / 96} ${y}H510` : `M90 ${y}H510`} />)}
        <path class="axis" d="M90 60H280L300 156 320 60H510V204H90Z" />
        <rect class="pulse unknown" x={60} y={204} width={480} height={26} />
        <path class="beam" d="M284 6H316L306 60H294Z" />
        <path class="gate" d="M336 60H372M308 156H372M360 60V156M354 70l6-10 6 10M354 146l6 10 6-10" />
        <text x={380} y={116}>{w.pictureDepth}</text>
        <text x={100} y={190}>{w.pictureStack}</text>
        <text x={100} y={262}>{w.pictureBacking}</text>
      </svg>
      <figcaption class="small"><p>{w.picture}</p></figcaption>
    </figure>
  );
}
