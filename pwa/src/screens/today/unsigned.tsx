import { Glyph, Mark } from "../../parts/basics";
import { momentText } from "../../parts/dates";
import { unsigned } from "../../session/state";
import { t } from "../../text";
import { href } from "../route";

const AT_FIRST = 5;

/** Procedures that have ended and are not signed yet, the newest first. */
export function WaitingForSignature() {
  const waiting = unsigned.value;
  return (
    <section class="stack" aria-label={t.today.unsigned}>
      <h2>{t.today.unsigned}{waiting.length > 0 ? ` (${waiting.length})` : ""}</h2>
      {waiting.length === 0 ? <p data-testid="no-unsigned"><Mark shape="done">{t.today.noUnsigned}</Mark></p> : (
        <ul class="list">
          {waiting.slice(0, AT_FIRST).map((r) => (
            <li key={r.record_id}><a class="item" href={href("sign", r.record_id)} data-testid="unsigned-record">
              <span class="grow"><span class="strong">{r.patient?.chart_number} {r.patient?.second_identifier}</span>
                <span class="small">{r.procedure?.text}, {momentText(r.started_at)}</span></span><Glyph shape="turn" /></a></li>
          ))}
          {waiting.length > 1 ? (
            <li><a class="item" href={href("sign")} data-testid="unsigned-all"><span class="grow strong">{t.today.signAll(waiting.length)}</span><Glyph shape="turn" /></a></li>
          ) : null}
        </ul>
      )}
    </section>
  );
}
