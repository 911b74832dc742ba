import type { ComponentChildren } from "preact";
import { nowText } from "../../events/times";
import { Notice, Press } from "../../parts/basics";
import { Choice } from "../../parts/fields";
import { withdraw } from "../../session/commands";
import { noteAnswers } from "../../session/commands_lists";
import { draft } from "../../session/draft";
import type { RecordDocument } from "../../session/fold";
import { personName } from "../../session/house";
import { listFor } from "../../session/house_lists";
import type { Given, ListKind } from "../../session/lists";
import { person, writing } from "../../session/state";
import type { ListItem, ListVersion } from "../../session/types";
import { t } from "../../text";
import { attempt, busy } from "../attempt";
import { accepted, againstNow, AgainstOperator, OperatorReason } from "../case/operator";
import { offerUndo, UndoSlot } from "../undo";
import { asRecorded, type Answers } from "./answers";
import { Beside } from "../checks/beside";
import { Board } from "./board";

/** A list begun in a case: with the text it was begun with, whatever is published meanwhile. */
interface Begun { list_id: string; version: ListVersion; answers: Answers; led_by: string | null; reason?: string }

interface Props {
  record: RecordDocument;
  kind: ListKind;
  onDone: () => void;
  /** Where the list may be left for now. */
  onLater?: () => void;
  /** In the place of the undo while there is nothing to undo. */
  beside?: ComponentChildren;
}

/**
 * Answers one list for one procedure. What is answered belongs to the record: it is kept sealed at
 * every tap, and comes back after a lock, a reload or a crash, for whoever goes on with it.
 */
export function AnswerList({ record, kind, onDone, onLater, beside }: Props) {
  const id = kind === "time_out" ? "timeout" : "list";
  // Each pause has a list of its own; what was begun in one says nothing about the next.
  const pause = kind === "pause" ? record.pauses?.[record.pauses.length - 1]?.event_id ?? "" : "";
  const kept = draft<Begun | null>(`list:${kind}:${pause}:${record.record_id}`, null);
  if (!kept.ready.value) return <p role="status">{t.common.loading}</p>;
  const asked = listFor(kind, Date.now());
  const begun = kept.value.value ?? (asked && { ...asked, answers: {}, led_by: null });
  if (!begun) return <NoList id={id} kind={kind} onDone={onDone} />;
  const { answers, version } = begun;
  const against = kind === "time_out" ? againstNow(record, record.operator_id, Date.now()) : [];
  const ledBy = begun.led_by ?? (kind === "time_out" ? record.operator_id : null) ?? person.value!.person_id;
  const put = (item: ListItem, change: Partial<Answers[string]>) => {
    const now = kept.value.value ?? begun;
    kept.set({ ...now, answers: { ...now.answers, [item.item_id]: { ...now.answers[item.item_id]!, ...change } } });
  };
  const give = (item: ListItem, answer: Given) => {
    const before = answers[item.item_id];
    if (before?.answer === answer) return;
    put(item, { answer, answered_at: nowText(), by: person.value!.person_id, note: null, typed: before?.typed ?? "", later: false });
    offerUndo(t.lists.answered(t.lists.answers[answer] ?? answer, item.text), async () => again(item));
  };
  const again = (item: ListItem) => {
    const now = kept.value.value ?? begun;
    const { [item.item_id]: _gone, ...rest } = now.answers;
    kept.set({ ...now, answers: rest });
  };
  const finish = () => void attempt(async () => {
    const event_id = await noteAnswers(record, begun, kind, asRecorded(version.items, answers), ledBy, accepted(record.operator_id ?? "", against, begun.reason ?? ""));
    kept.clear();
    offerUndo(t.lists.noted(version.title), async () => {
      await withdraw(record.record_id, event_id, t.lists.undoReason);
      kept.set(begun);
    });
  }).then((done) => { if (done) onDone(); });
  return (
    <>
      {asked && asked.list_id === begun.list_id && asked.version.version !== version.version
        ? <Notice calm id={`${id}-newer`}><p class="small">{t.lists.startedWith(version.version, asked.version.version)}</p></Notice> : null}
      {against.length > 0 ? <AgainstOperator operator_id={record.operator_id} found={against} /> : null}
      <Board id={id} list={version} answers={answers} bar lead={kind === "time_out" ? t.lists.aloud : t.lists.quietly}
        beside={(item) => <Beside item={item} device_id={record.device?.device_id ?? null} />} answer={give} again={again}
        type={(item, typed) => put(item, { typed })}
        reason={(item) => put(item, { note: (kept.value.value ?? begun).answers[item.item_id]!.typed.trim() })}
        later={(item) => put(item, { later: true })}
        slot={<UndoSlot>{onLater ? <Press id={`${id}-later`} kind="quiet" onPress={onLater}>{t.lists.later}</Press> : null}{beside}</UndoSlot>}
        summary={kind === "time_out" ? <>
          {against.length > 0 ? <OperatorReason value={begun.reason ?? ""} onChange={(reason) => kept.set({ ...begun, reason })} /> : null}
          <LedBy record={record} value={ledBy} onChange={(led_by) => kept.set({ ...begun, led_by })} /></> : null}
        finish={<Press id={`${id}-finish`} kind="main" large disabled={busy.value || !writing.value || (against.length > 0 && !begun.reason?.trim())} onPress={finish}>
          {kind === "time_out" ? t.lists.finishTimeout : t.lists.finish}</Press>} />
    </>
  );
}

/** Who led it: the operator unless somebody says otherwise, in sight beside the button that says it is complete. */
function LedBy({ record, value, onChange }: { record: RecordDocument; value: string; onChange: (person_id: string) => void }) {
  const there = [record.operator_id, person.value!.person_id, record.supervising_id, ...record.assistant_ids];
  const people = [...new Set(there.filter((one): one is string => Boolean(one)))];
  return (
    <Choice id="led-by" legend={t.lists.ledBy} value={value} onChange={onChange}
      options={people.map((one) => ({ value: one, text: personName(one) ?? t.common.unknownPerson }))} />
  );
}

function NoList({ id, kind, onDone }: { id: string; kind: ListKind; onDone: () => void }) {
  return (
    <section class="stack narrow">
      <h1>{t.lists.kinds[kind]}</h1>
      <Notice shape="warn" id={`${id}-none`}><p>{kind === "time_out" ? t.lists.noneTimeout : t.lists.none}</p></Notice>
      <Press id={`${id}-skip`} large onPress={onDone}>{t.lists.goOn}</Press>
    </section>
  );
}
