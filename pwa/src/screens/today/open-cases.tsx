import { Mark, Press } from "../../parts/basics";
import { timeText } from "../../parts/dates";
import { openPause } from "../../session/commands_case";
import { openRecords } from "../../session/state";
import { elapsed, running } from "../../session/timer";
import type { RecordDocument } from "../../session/fold";
import { localNumbers, t } from "../../text";
import { go } from "../route";
import { SavedMark } from "../saved";

/** Cases that are open on this tablet, each one tap away. */
export function OpenCases() {
  return (
    <>
      {openRecords.value.map((r) => (
        <section class="sheet running" key={r.record_id} data-testid="open-case" aria-label={t.today.openCase}>
          <h2>{t.today.openCase}: {r.patient?.chart_number} {r.patient?.second_identifier}</h2>
          <p>{r.procedure?.text}, {r.site}</p>
          <p class="row base"><CaseState record={r} /><SavedMark record_id={r.record_id} /></p>
          <Press id="open-case-go" kind="main" large wide onPress={() => go("case", r.record_id)}>{t.today.goOn}</Press>
        </section>
      ))}
    </>
  );
}

function CaseState({ record }: { record: RecordDocument }) {
  const timer = running.value?.record_id === record.record_id ? running.value : null;
  const pause = openPause(record);
  if (timer?.stopped_ms === null) return <Mark shape="on">{t.door.sign.timerRuns}</Mark>;
  if (timer) return <Mark shape="wait">{t.door.timer.waits(localNumbers(`${elapsed(timer, timer.stopped_ms!)}\u00a0s`))}</Mark>;
  if (pause) return <Mark shape="wait">{t.course.pause.since(timeText(pause.from_at))}</Mark>;
  return <span class="small">{record.passes.length > 0 ? t.case.pass(record.passes[record.passes.length - 1]!.number) : t.case.noPass}, {t.today.since(timeText(record.started_at))}</span>;
}
