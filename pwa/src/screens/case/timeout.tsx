import { nowText } from "../../events/times";
import { Notice, Press } from "../../parts/basics";
import { TextField } from "../../parts/fields";
import { answerTimeout, type TimeoutAnswer } from "../../session/commands";
import { draft } from "../../session/draft";
import type { RecordDocument } from "../../session/fold";
import { house } from "../../session/house";
import { writing } from "../../session/state";
import { t } from "../../text";
import { attempt, busy } from "../attempt";

type Answers = Record<string, { answer: string; note: string; answered_at: string }>;

const answerWords = (): readonly { answer: string; id: string; text: string }[] => [
  { answer: "yes", id: "yes", text: t.case.timeout.yes },
  { answer: "no", id: "no", text: t.case.timeout.no },
  { answer: "not applicable", id: "na", text: t.case.timeout.na },
];

/** The time-out: one line at a time, the answers always in the same place. */
export function TimeOut({ record, onDone }: { record: RecordDocument; onDone: () => void }) {
  const list = house.value.lists.filter((l) => l.kind === "time_out").sort((a, b) => b.version - a.version)[0];
  const kept = draft<Answers>(`timeout:${record.record_id}`, {});
  if (!list) {
    return (
      <section class="stack narrow">
        <h1>{t.case.timeout.title}</h1>
        <Notice shape="warn" id="timeout-none"><p>{t.case.timeout.none}</p></Notice>
        <Press id="timeout-skip" large onPress={onDone}>{t.case.timeout.skipNone}</Press>
      </section>
    );
  }
  const answers = kept.value.value;
  const at = list.items.findIndex((item) => !answers[item.item_id] || (answers[item.item_id]!.answer === "no" && !answers[item.item_id]!.note.trim()));
  const current = at < 0 ? null : list.items[at]!;
  const give = (item_id: string, answer: string) =>
    kept.set({ ...answers, [item_id]: { answer, note: answers[item_id]?.note ?? "", answered_at: nowText() } });
  const finish = () => {
    const all: TimeoutAnswer[] = list.items.map((item) => {
      const given = answers[item.item_id]!;
      return { item_id: item.item_id, text: item.text, answer: given.answer, note: given.note.trim() || null, answered_at: given.answered_at };
    });
    void attempt(() => answerTimeout(record, list, all)).then((done) => { if (done) { kept.clear(); onDone(); } });
  };
  return (
    <section class="stack" data-testid="timeout">
      <div class="row spread base"><div><h2>{list.title || t.case.timeout.title}</h2><span class="small soft">{t.case.timeout.lead}</span></div>
        <span data-testid="timeout-progress">{t.case.timeout.of(Object.keys(answers).length, list.items.length)}</span></div>
      {current ? <Ask key={current.item_id} place={`${record.record_id}:${current.item_id}`} text={current.text} given={answers[current.item_id]}
        onNote={(note) => kept.set({ ...answers, [current.item_id]: { ...answers[current.item_id]!, note } })} /> : null}
      <div class="foot answers">
        {current ? answerWords().map((w) => (
          <Press key={w.id} id={`timeout-${w.id}`} large kind={w.id === "yes" ? "main" : "plain"} pressed={answers[current.item_id]?.answer === w.answer} onPress={() => give(current.item_id, w.answer)}>{w.text}</Press>
        )) : <Press id="timeout-finish" kind="main" large disabled={busy.value || !writing.value} onPress={finish}>{t.case.timeout.finish}</Press>}
      </div>
      <ul class="list">
        {list.items.map((item) => (
          <li key={item.item_id} class="item" data-testid="timeout-item" aria-current={item === current ? "step" : undefined}>
            <span class="grow small">{item.text}{answers[item.item_id]?.note ? <span class="soft">{answers[item.item_id]!.note}</span> : null}</span>
            {answers[item.item_id]
              ? <Press id={`timeout-again-${item.item_id}`} onPress={() => { const { [item.item_id]: _gone, ...rest } = answers; kept.set(rest); }}
                  label={`${item.text}: ${answers[item.item_id]!.answer}. ${t.common.undo}`}>{answerWords().find((w) => w.answer === answers[item.item_id]!.answer)?.text}</Press>
              : <span class="small soft" aria-hidden="true">{item === current ? "←" : ""}</span>}
          </li>
        ))}
      </ul>
    </section>
  );
}

interface AskProps { place: string; text: string; given: Answers[string] | undefined; onNote: (note: string) => void }

function Ask({ place, text, given, onNote }: AskProps) {
  const refusing = given?.answer === "no";
  const note = draft<string>(`timeout-note:${place}`, "");
  return (
    <div class="sheet">
      <p class="ask" data-testid="timeout-question" aria-live="polite">{text}</p>
      {refusing ? (
        <>
          <TextField id="timeout-note" label={t.case.timeout.note} hint={t.case.timeout.noteHint} value={note.value.value} onChange={note.set} max={500} spell focus />
          <Press id="timeout-note-save" disabled={!note.value.value.trim()} onPress={() => { onNote(note.value.value.trim()); note.clear(); }}>{t.common.save}</Press>
        </>
      ) : null}
    </div>
  );
}
