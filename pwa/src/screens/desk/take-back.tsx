import { useSignal } from "@preact/signals";
import { Notice, Press } from "../../parts/basics";
import { takeBackAtChart } from "../../sync/desk";
import { t } from "../../text";
import { deskWords } from "./papers";

/** What was said about the chart, and by which entry. */
export interface Done { record_id: string; event_id: string; text: string }

/** What was just marked, and a way to take it back, in two steps. */
export function Marked({ done, onTakenBack }: { done: Done; onTakenBack: () => void }) {
  const asked = useSignal(false);
  return (
    <Notice shape="done" id="queue-marked" live>
      <p>{done.text}</p>
      <TakeBack done={done} asked={asked} onTakenBack={onTakenBack} start={t.desk.takeBack} />
    </Notice>
  );
}

/** First asked, then done: a tap by mistake must not undo what the chart holds. */
export function TakeBack({ done, asked, start, onTakenBack }: {
  done: Done; asked: { value: boolean }; start: string; onTakenBack: () => void;
}) {
  const busy = useSignal(false);
  const wrong = useSignal<string | null>(null);
  const sure = async () => {
    if (busy.value) return;
    busy.value = true;
    wrong.value = null;
    try {
      await takeBackAtChart(done.record_id, done.event_id, t.desk.takeBackReason);
      onTakenBack();
    } catch (error) {
      wrong.value = deskWords(error);
    } finally {
      busy.value = false;
    }
  };
  return (
    <div class="row" data-testid="take-back-row">
      {asked.value ? (
        <>
          <span>{t.desk.takeBackAsk}</span>
          <Press id="take-back-sure" onPress={() => void sure()}>{t.desk.takeBackSure}</Press>
          <Press id="take-back-keep" onPress={() => { asked.value = false; }}>{t.desk.takeBackKeep}</Press>
        </>
      ) : <Press id="take-back" onPress={() => { asked.value = true; }}>{start}</Press>}
      {wrong.value ? <span role="alert" class="small">{wrong.value}</span> : null}
    </div>
  );
}
