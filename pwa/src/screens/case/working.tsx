import { Mark, Press } from "../../parts/basics";
import { timeText } from "../../parts/dates";
import { openPause } from "../../session/commands_case";
import { house } from "../../session/house";
import { writing } from "../../session/state";
import { stepped } from "../../session/settings";
import { running } from "../../session/timer";
import type { RecordDocument } from "../../session/fold";
import type { Device, PassPlan } from "../../session/types";
import { t } from "../../text";
import { fromPass, fromSettings } from "../plan/form";
import { casePlan, planDraft } from "../plan/drafts";
import { UndoSlot } from "../undo";
import { go, href } from "../route";
import { CaseDose } from "./dose";
import { LastSettings } from "./last-settings";
import { BeforePatient } from "./lists";
import { Paused } from "./pause";
import { beginPass, stepPass } from "./passes";
import { PassList } from "./pass-list";
import { lastPass } from "./plan-now";
import { ProtectionMark } from "./protection";
import { Steps } from "./steps";
import { OtherTime } from "./time-form";
import { LaserBar } from "./timer";
import { Menu } from "./views";

interface WorkingProps { record: RecordDocument; plan: PassPlan | null; device: Device | null; onTimeout: () => void }

/** Where the laser is used: the settings, each a tap away from the next, and what was done so far. */
export function Working({ record, plan, device, onTimeout }: WorkingProps) {
  const pass = lastPass(record);
  const timing = running.value?.record_id === record.record_id;
  const step = (field: string, direction: 1 | -1) => {
    if (pass) { void stepPass(record.record_id, device, field, direction); return; }
    if (!plan) return;
    const kept = casePlan(record.record_id);
    kept.set(fromSettings(kept.value.value, stepped(plan.settings, field, direction)));
  };
  const other = () => {
    const kept = planDraft(record.record_id);
    // A form starts from what is in force, and changes it only when it is used.
    if (plan && pass) kept.set(fromPass(kept.value.value, plan, pass.event_id));
    else kept.set(casePlan(record.record_id).value.value);
    go("plan", record.record_id);
  };
  return (
    <div class="two">
      <div class="stack">
        <Paused record={record} />
        <UndoSlot>{pass ? <p class="small soft">{t.case.stepStarts}</p> : null}</UndoSlot>
        {plan ? <Steps settings={plan.settings} device={device} onStep={step} /> : null}
        <LastSettings record={record} />
        <Press id="other-settings" wide onPress={other}>{plan ? t.case.otherSettings : t.case.chooseSettings}</Press>
        {pass ? <OtherTime record={record} pass={pass} /> : null}
      </div>
      <div class="stack">
        <CaseMarks record={record} onTimeout={onTimeout} />
        <Menu record_id={record.record_id} noPause={timing || openPause(record) !== null} noEnd={running.value !== null || !writing.value} />
        {running.value ? <p class="small soft">{running.value.stopped_ms === null ? t.case.endFirst : t.course.timer.decideFirst}</p> : null}
        {plan ? <CaseDose brief plan={plan} laser_on_s={pass?.laser_on_s ?? 0} /> : null}
        <PassList record={record} />
        <p class="small soft">{t.case.caution}</p>
        <Press id="case-leave" kind="quiet" onPress={() => go("today")}>{t.case.leave}</Press>
      </div>
    </div>
  );
}

/** What has been seen to before the laser is used, and what has not. */
function CaseMarks({ record, onTimeout }: { record: RecordDocument; onTimeout: () => void }) {
  return (
    <div class="row marks">
      {record.time_out
        ? <Mark shape="done" id="timeout-done">{t.case.timeout.done(timeText(record.time_out.completed_at))}</Mark>
        : <><Mark shape="warn" id="timeout-pending">{t.case.timeout.pending}</Mark>
            {record.passes.length === 0 ? <Press id="timeout-now" onPress={onTimeout}>{t.case.timeout.now}</Press> : null}</>}
      <BeforePatient record={record} />
      <a class="mark-link" href={href("case", record.record_id, "protection")} data-testid="protection-open"><ProtectionMark record={record} /></a>
      <TipMark record={record} />
    </div>
  );
}

/** The tip in use, once it is used more often than its register allows. */
function TipMark({ record }: { record: RecordDocument }) {
  const tip = lastPass(record)?.handpiece ?? record.handpiece;
  const limit = house.value.handpieces.find((h) => h.handpiece_id === tip?.handpiece_id)?.use_limit;
  if (!tip || !limit || tip.use_count === null || tip.use_count <= limit) return null;
  return <Mark shape="warn" id="tip-over">{tip.label}: {t.opening.useOf(tip.use_count, limit)}</Mark>;
}

/** At the foot, where the thumb is: the timer of the open pass, or the way to the first one. */
export function Bar({ record, plan }: { record: RecordDocument; plan: PassPlan | null }) {
  const pass = lastPass(record);
  if (pass) return <LaserBar record={record} pass={pass} />;
  return (
    <div class="foot">
      {plan
        ? <Press id="pass-start" kind="main" large disabled={!writing.value} onPress={() => void beginPass(record, plan)}>{t.case.startFirst}</Press>
        : <Press id="choose-settings" kind="main" large onPress={() => go("plan", record.record_id)}>{t.case.chooseSettings}</Press>}
    </div>
  );
}
