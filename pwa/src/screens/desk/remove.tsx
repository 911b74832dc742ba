import { useSignal } from "@preact/signals";
import { useRef } from "preact/hooks";
import { Notice, Press } from "../../parts/basics";
import { dateText, momentText } from "../../parts/dates";
import { newId } from "../../events/ids";
import { removedFromChart, type PaperToRemove } from "../../sync/desk";
import { t } from "../../text";
import { deskWords } from "./papers";
import type { Done } from "./take-back";

/** Papers in charts where they no longer belong: a record was moved, or made void. */
export function ToRemove({ papers, onDone }: { papers: readonly PaperToRemove[]; onDone: (done: Done) => void }) {
  if (papers.length === 0) return null;
  return (
    <section class="stack" data-testid="to-remove">
      <h2>{t.desk.removeTitle}</h2>
      <p class="small soft">{t.desk.removeLead}</p>
      {papers.map((one) => <Paper key={one.event_id} paper={one} onDone={onDone} />)}
    </section>
  );
}

function Paper({ paper, onDone }: { paper: PaperToRemove; onDone: (done: Done) => void }) {
  const busy = useSignal(false);
  const wrong = useSignal<string | null>(null);
  const key = useRef(newId());
  const chart = [paper.chart_number, paper.second_identifier].filter(Boolean).join(" ");
  const why = (paper.kind === "void" ? t.desk.removeVoid : t.desk.removeMoved)(
    momentText(paper.at), paper.by_name ?? t.common.unknownPerson, paper.reason ?? t.moving.reasonHidden);
  const remove = async () => {
    if (busy.value) return;
    busy.value = true;
    wrong.value = null;
    try {
      const { event_id } = await removedFromChart(paper.record_id, paper.event_id, key.current);
      onDone({ record_id: paper.record_id, event_id, text: t.desk.removed(chart) });
    } catch (error) {
      wrong.value = deskWords(error);
    } finally {
      busy.value = false;
    }
  };
  return (
    <Notice shape="warn" id="remove-row">
      <strong>{t.desk.remove(chart)}</strong>
      <p class="small">{t.desk.removeWhich([paper.procedure_text, paper.site, dateText(paper.started_at)].filter(Boolean).join(", "))}</p>
      <p class="small">{why}</p>
      <div class="row"><Press id="remove-done" kind="main" label={t.desk.forRow(t.desk.removeDone, chart)} onPress={() => void remove()}>{t.desk.removeDone}</Press></div>
      {wrong.value ? <p role="alert" class="small">{wrong.value}</p> : null}
    </Notice>
  );
}
