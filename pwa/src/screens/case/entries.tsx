import { useSignal } from "@preact/signals";
import { Mark, Notice, Press } from "../../parts/basics";
import { timeText } from "../../parts/dates";
import { TextField } from "../../parts/fields";
import { payloadOf, takeBack, unsigned } from "../../session/commands_case";
import { withdraw } from "../../session/commands";
import type { HistoryLine, RecordDocument } from "../../session/fold";
import { personName } from "../../session/house";
import { person, writing } from "../../session/state";
import { t } from "../../text";
import { attempt, busy } from "../attempt";
import { go } from "../route";
import { offerUndo, UndoSlot } from "../undo";
import { CORRECTED } from "./correct";
import { entryText } from "./entry-text";
import { caseDraft } from "./kept";
import { Back } from "./views";

/** Of each entry what holds now, what was said before, and the ways to put it right. */
export function Entries({ record }: { record: RecordDocument }) {
  const open = unsigned(record);
  // The newest first: what has to be put right was mostly just said.
  const roots = record.history.filter((line) => line.type !== "entry.withdrawn" && !replaces(record, line)).reverse();
  return (
    <div class="stack">
      <h1>{t.course.entries.title}</h1>
      <p class="small soft">{open ? t.course.entries.lead : t.course.entries.signed}</p>
      <Back record_id={record.record_id} />
      <UndoSlot>{null}</UndoSlot>
      {roots.length === 0 ? <p class="soft">{t.course.entries.none}</p> : null}
      <ol class="list" data-testid="entries">
        {roots.map((root) => <Entry key={root.event_id} record={record} root={root} open={open} />)}
      </ol>
    </div>
  );
}

/** Whether a line stands in the place of an earlier one. */
const replaces = (record: RecordDocument, line: HistoryLine): boolean =>
  line.corrects !== null && record.history.some((one) => one.event_id === line.corrects && one.type === line.type);

/** An entry and all that was said in its place since, in order. */
function chainOf(record: RecordDocument, root: HistoryLine): HistoryLine[] {
  const chain = [root];
  for (const line of record.history) {
    if (line.type === root.type && chain.some((one) => one.event_id === line.corrects)) chain.push(line);
  }
  return chain;
}

function Entry({ record, root, open }: { record: RecordDocument; root: HistoryLine; open: boolean }) {
  const chain = chainOf(record, root);
  const now = chain.find((line) => line.effective) ?? null;
  const before = chain.filter((line) => line !== now);
  const text = (line: HistoryLine) => entryText(record, line);
  const who = (line: HistoryLine) => personName(line.by) ?? t.common.unknownPerson;
  const mine = now !== null && payloadOf(record.record_id, now.event_id) !== null;
  return (
    <li class="item entry" data-testid="entry">
      <div class="grow">
        {now
          ? <><span class="strong" data-testid="entry-now">{text(now)}</span>
              <span class="small soft">{timeText(now.at)}, {who(now)}</span></>
          : <Mark shape="stop" id="entry-back">{t.course.entries.takenBack}</Mark>}
        {before.map((line) => <span key={line.event_id} class="small soft" data-testid="entry-was">{t.course.entries.was(text(line), timeText(line.at), who(line))}</span>)}
        {open && now && !mine ? <span class="small soft">{t.course.entries.elsewhere}</span> : null}
        {open && now && mine ? <Ways record={record} now={now} /> : null}
      </div>
    </li>
  );
}

function Ways({ record, now }: { record: RecordDocument; now: HistoryLine }) {
  const asking = useSignal(false);
  const kept = caseDraft<string>(`back:${now.event_id}`, record.record_id, "");
  const reason = kept.value.value.trim();
  const back = () => void attempt(async () => {
    const event_id = await takeBack(record, now.event_id, reason);
    kept.clear();
    offerUndo(t.course.entries.undo, () => withdraw(record.record_id, event_id, t.course.entries.reasonBack));
  });
  // Without its opening there is no case; it is put right, or the case is ended and the record made void.
  const first = now.type === "procedure.opened";
  const photograph = now.type === "attachment.added";
  if (asking.value) {
    return (
      <Notice shape="note">
        <TextField id="take-back-reason" label={t.course.entries.reason} value={kept.value.value} onChange={kept.set} max={500} spell focus />
        <div class="row">
          <Press id="take-back-now" kind="main" disabled={!reason || busy.value || !writing.value} onPress={back}>{t.course.entries.takeBackNow}</Press>
          <Press id="take-back-keep" kind="quiet" onPress={() => { asking.value = false; }}>{t.course.entries.keep}</Press>
        </div>
      </Notice>
    );
  }
  return (
    <div class="row">
      {CORRECTED.includes(now.type) ? <Press id={`correct-${now.event_id}`} label={`${t.course.entries.correct}: ${entryText(record, now)}`} disabled={!person.value || !writing.value}
        onPress={() => go("case", record.record_id, "correct", now.event_id)}>{t.course.entries.correct}</Press> : null}
      {/* A photograph has its own way back, which keeps its bytes from being sent. */}
      {first || photograph ? null : <Press id={`take-back-${now.event_id}`} label={`${t.course.entries.takeBack}: ${entryText(record, now)}`} kind="quiet" onPress={() => { asking.value = true; }}>{t.course.entries.takeBack}</Press>}
    </div>
  );
}

