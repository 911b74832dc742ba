import { Notice, Press } from "../../parts/basics";
import { timeText } from "../../parts/dates";
import { TextField } from "../../parts/fields";
import { openPause, pauseCase, resumeCase } from "../../session/commands_case";
import type { RecordDocument } from "../../session/fold";
import { lateness } from "../../session/lists";
import { writing } from "../../session/state";
import { running } from "../../session/timer";
import { t } from "../../text";
import { attempt, busy } from "../attempt";
import { StateMark } from "../lists/marks";
import { go, href } from "../route";
import { offerWithdrawal } from "../undo";
import { caseDraft } from "./kept";
import { answer, asksInPause } from "./lists";
import { Back } from "./views";

/** Pausing: one tap where nothing has to be said about it. */
export function PauseForm({ record }: { record: RecordDocument }) {
  const kept = caseDraft<string>("pause", record.record_id, "");
  const reason = kept.value.value;
  const timing = running.value?.record_id === record.record_id && running.value.stopped_ms === null;
  const pause = (why: string) => void attempt(async () => offerWithdrawal(t.course.done.pause, record.record_id, await pauseCase(record, why.trim() || null)))
    .then((done) => { if (done) { kept.clear(); go("case", record.record_id); } });
  if (openPause(record)) return <div class="stack narrow"><h1>{t.course.pause.title}</h1><Paused record={record} /><Back record_id={record.record_id} /></div>;
  const off = timing || busy.value || !writing.value;
  return (
    <div class="stack narrow">
      <h1>{t.course.pause.title}</h1>
      <p>{t.course.pause.lead}</p>
      {timing ? <Notice shape="warn"><p>{t.course.pause.stopFirst}</p></Notice> : null}
      <div class="choices across">
        {Object.entries(t.course.pause.reasons).map(([name, text]) => <Press key={name} id={`pause-for-${name}`} disabled={off} onPress={() => pause(text)}>{text}</Press>)}
      </div>
      <TextField id="pause-reason" label={t.course.pause.reason} value={reason} onChange={kept.set} max={300} spell />
      <Press id="pause-go" kind="main" large wide disabled={off} onPress={() => pause(reason)}>{t.course.pause.go}</Press>
      <WentWrong record_id={record.record_id} />
      <Back record_id={record.record_id} />
    </div>
  );
}

/** First aid first, and then what has to be said about it, with this case linked. */
function WentWrong({ record_id }: { record_id: string }) {
  return <a class="button" href={href("practice", "incidents", "new", record_id)} data-testid="case-went-wrong">{t.course.wentWrong}</a>;
}

/** Stands in the case while it is paused. */
export function Paused({ record }: { record: RecordDocument }) {
  const pause = openPause(record);
  if (!pause) return null;
  const list = lateness(record).find((row) => row.kind === "pause" && row.pause_from_at === pause.from_at);
  const answered = list && list.state !== "not answered" ? list : null;
  return (
    <Notice shape="wait" id="paused" live>
      <p class="strong">{t.course.pause.since(timeText(pause.from_at))}{pause.reason ? `: ${pause.reason}` : ""}</p>
      <div class="row">
        <Press id="pause-resume" kind="main" large disabled={busy.value || !writing.value} onPress={() => void attempt(() => resumeCase(record))}>{t.course.pause.resume}</Press>
        {answered ? <StateMark row={answered} record={record} /> : asksInPause() ? <Press id="pause-list" onPress={() => answer(record, "pause")}>{t.course.pause.answer}</Press> : null}
        <WentWrong record_id={record.record_id} />
      </div>
    </Notice>
  );
}
