import { Press } from "../../parts/basics";
import { timeText } from "../../parts/dates";
import { TextField } from "../../parts/fields";
import { addNote } from "../../session/commands";
import type { RecordDocument } from "../../session/fold";
import { writing } from "../../session/state";
import { t } from "../../text";
import { attempt, busy } from "../attempt";
import { offerWithdrawal } from "../undo";
import { caseDraft } from "./kept";

export function Notes({ record }: { record: RecordDocument }) {
  const kept = caseDraft<string>("note", record.record_id, "");
  const text = kept.value.value;
  const add = () => void attempt(async () => offerWithdrawal(t.course.done.note, record.record_id, await addNote(record, text.trim()))).then((done) => { if (done) kept.clear(); });
  return (
    <section class="stack" aria-label={t.case.notes}>
      {record.notes.length > 0 ? <ul class="stack" data-testid="notes">{record.notes.map((n) => (
        <li key={n.event_id}><span class="small soft">{timeText(n.at)}</span> <span class="pre">{n.text}</span></li>))}</ul> : null}
      <TextField id="note" label={t.case.note} long value={text} onChange={kept.set} spell />
      <Press id="note-add" disabled={!text.trim() || busy.value || !writing.value} onPress={add}>{t.case.addNote}</Press>
    </section>
  );
}
