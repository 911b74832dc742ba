import type { ComponentChildren } from "preact";
import { Notice, Press } from "../../parts/basics";
import { correct, payloadOf } from "../../session/commands_case";
import { withdraw } from "../../session/commands";
import type { HistoryLine, RecordDocument } from "../../session/fold";
import { writing } from "../../session/state";
import { t } from "../../text";
import { attempt, busy } from "../attempt";
import { go } from "../route";
import { offerUndo } from "../undo";
import { entryText } from "./entry-text";
import { caseDraft } from "./kept";

interface FrameProps { record: RecordDocument; line: HistoryLine; next: object | null; clear: () => void; children: ComponentChildren }

/** Around every form of correction: what stands now, the form, and saving both for good. */
export function Frame({ record, line, next, clear, children }: FrameProps) {
  const same = next !== null && sameWords(next, payloadOf<object>(record.record_id, line.event_id)!);
  const save = () => void attempt(async () => {
    const event_id = await correct(record, line.event_id, line.type, next!);
    offerUndo(t.course.entries.saved, () => withdraw(record.record_id, event_id, t.case.undoReason));
  }).then((done) => { if (done) { clear(); go("case", record.record_id, "entries"); } });
  return (
    <div class="stack">
      <h1>{t.course.entries.correct}</h1>
      <Notice calm id="correct-now"><p class="small soft">{t.course.entries.now}</p><p>{entryText(record, line)}</p></Notice>
      <h2>{t.course.entries.newSays}</h2>
      {children}
      {same ? <p class="small soft" data-testid="correct-unchanged">{t.course.entries.unchanged}</p> : null}
      <div class="row">
        <Press id="correct-save" kind="main" large disabled={next === null || same || busy.value || !writing.value} onPress={save}>{t.course.entries.save}</Press>
        <Press id="correct-cancel" kind="quiet" onPress={() => { clear(); go("case", record.record_id, "entries"); }}>{t.course.entries.keep}</Press>
      </div>
    </div>
  );
}

/** By value, whatever the order of the fields; what the engine worked out does not count. */
function sameWords(a: object, b: object): boolean {
  const plain = (value: unknown): unknown => (value === null || typeof value !== "object" ? value
    : Array.isArray(value) ? value.map(plain)
    : Object.fromEntries(Object.entries(value).filter(([name]) => name !== "dose").sort(([x], [y]) => (x < y ? -1 : 1)).map(([name, inner]) => [name, plain(inner)])));
  return JSON.stringify(plain(a)) === JSON.stringify(plain(b));
}

/** The form of one entry, kept under its id until it is saved or left. */
export function useForm<T>(line: HistoryLine, record: RecordDocument, start: () => T) {
  const kept = caseDraft<T | null>(`correct:${line.event_id}`, record.record_id, null);
  return { form: kept.value.value ?? start(), set: kept.set as (form: T) => void, clear: kept.clear };
}
