import { useEffect } from "preact/hooks";
import { Mark } from "../../parts/basics";
import { momentText } from "../../parts/dates";
import { More } from "../../parts/dose";
import { quantityText } from "../../parts/quantity";
import type { RecordDocument } from "../../session/fold";
import { historyOf, type HistoryWords } from "../../session/history";
import type { Settings } from "../../session/types";
import { t } from "../../text";
import { begin } from "../../text/begin";
import { settingsText } from "../facts";
import { knownName, loadTabletLabels, placeOf } from "./names";

/** Who did what, when and where, in sentences; what was corrected shows what it was and what it is. */
export function History({ record }: { record: RecordDocument }) {
  useEffect(loadTabletLabels, []);
  return (
    <More id="history" title={t.history.title}>
      <div class="stack">
        <p class="small soft">{t.history.lead}</p>
        <ol class="list">{tell(record).map((one) => (
          <li class="item" key={one.event_id} data-testid="history-line">
            <span class="grow">
              <span class="small soft">{momentText(one.at)}, {t.history.where(placeOf(record, one.tablet_id))}</span>
              <span class="pre">{begin(one.text)}</span>
              {one.received_at ? <span class="small soft" data-testid="history-late">{t.history.late(momentText(one.received_at))}</span> : null}
              {one.standing === "holds" ? null : <Mark shape="turn">{t.history.standing[one.standing]}</Mark>}
            </span>
          </li>))}</ol>
      </div>
    </More>
  );
}

export const tell = (record: RecordDocument) => historyOf(record, t.history as unknown as HistoryWords, {
  person: (id) => knownName(record, id),
  settings: (settings) => settingsText(settings as Settings),
  moment: momentText,
  quantity: quantityText,
});
