import { Mark } from "../../parts/basics";
import type { Verified } from "../../session/verification";
import { t } from "../../text";
import { percent } from "../facts";
import { VerdictMark } from "../verdict";

/** What the readings come to so far, with the rule by which that is judged. */
export function Outcome({ verified }: { verified: Verified | null }) {
  const w = t.power;
  return (
    <section class="sheet" aria-live="polite" data-testid="power-outcome">
      <h2>{w.outcome}</h2>
      {verified === null ? <p class="soft">{w.noOutcome}</p> : (
        <>
          <VerdictMark verdict={verified.verdict} id="power-verdict" />
          <p class="num"><strong data-testid="power-ratio">{percent(verified.ratio)}</strong> {w.ofMeant} ({w.uncertainty(percent(verified.ratio_uncertainty))})</p>
          <p>{w.means[verified.verdict]}</p>
          {verified.remarks.map((code) => <Mark key={code} shape="note" id={`power-${code}`}>{w.remarks[code] ?? code}</Mark>)}
        </>
      )}
      <p class="small soft">{w.rule}</p>
    </section>
  );
}
