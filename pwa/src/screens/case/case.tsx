import { useSignal } from "@preact/signals";
import { useEffect } from "preact/hooks";
import { Mark, Press } from "../../parts/basics";
import { DosePanel } from "../../parts/dose";
import { timeText } from "../../parts/dates";
import { doseOf } from "../../session/dosing";
import { house } from "../../session/house";
import { ownRecords, writing } from "../../session/state";
import { running } from "../../session/timer";
import type { RecordDocument } from "../../session/fold";
import type { Device, PassPlan, Settings } from "../../session/types";
import { t } from "../../text";
import { basisText, factsOf } from "../facts";
import { compose, emptyForm, fromPass, fromPreset, fromSettings, passPlan } from "../plan/form";
import { planDraft } from "../plan/plan";
import { UndoSlot, withdrawOffer } from "../undo";
import { go } from "../route";
import { keepAwake } from "./awake";
import { EndForm } from "./end";
import { CaseHead } from "./head";
import { Notes } from "./notes";
import { beginPass, planOfPass } from "./passes";
import { PassList } from "./pass-list";
import { Steps } from "./steps";
import { TimeOut } from "./timeout";
import { LaserBar, OtherTime } from "./timer";

/** One open case. What it shows is the fold of its events and the drafts beside them. */
export function CaseScreen({ record_id }: { record_id: string }) {
  const ending = useSignal(false);
  const timeoutOpen = useSignal(true);
  useEffect(() => keepAwake(), []);
  useEffect(() => withdrawOffer, [record_id]);
  useEffect(() => { window.scrollTo(0, 0); }, [ending.value, timeoutOpen.value]);
  const record = ownRecords.value.find((r) => r.record_id === record_id);
  const kept = planDraft(record_id);
  if (!record) return <div class="page"><p role="status">{t.common.loading}</p><a class="button" href="#/today">{t.common.nav.today}</a></div>;
  if (!kept.ready.value) return <p class="page" role="status">{t.common.loading}</p>;
  if (record.status !== "draft") {
    go(record.status === "ended" ? "sign" : "records", record_id);
    return null;
  }
  const device = house.value.devices.find((d) => d.device_id === record.device?.device_id) ?? null;
  const plan = currentPlan(record, device);
  const asking = record.time_out === null && record.passes.length === 0 && timeoutOpen.value;
  return (
    <>
      <CaseHead record={record} plan={plan} />
      <div class="page case">
        {ending.value ? <EndForm record={record} onBack={() => { ending.value = false; }} />
          : asking ? <TimeOut record={record} onDone={() => { timeoutOpen.value = false; }} />
          : <Working record={record} plan={plan} device={device} onEnd={() => { ending.value = true; }} onTimeout={() => { timeoutOpen.value = true; }} />}
      </div>
      {ending.value || asking ? null : <Bar record={record} plan={plan} />}
    </>
  );
}

/** The settings in force: those of the open pass, before the first one those of the plan. */
function currentPlan(record: RecordDocument, device: Device | null): PassPlan | null {
  const pass = record.passes[record.passes.length - 1];
  if (pass) return planOfPass(record, pass, presetSettings(record, pass.preset));
  const form = planDraft(record.record_id).value.value;
  const composed = compose(form, device);
  return composed.complete ? passPlan(form, composed.settings) : null;
}

function presetSettings(record: RecordDocument, preset: PassPlan["preset"]): Settings | null {
  if (!preset) return null;
  const known = house.value.presets.find((p) => p.preset_id === preset.preset_id && p.version === preset.version);
  if (known) return fromPreset(emptyForm(), known, house.value.handpieces.find((h) => h.handpiece_id === known.handpiece_id)).preset_settings;
  const unchanged = record.passes.find((p) => p.preset?.preset_id === preset.preset_id && !p.changed_from_preset);
  return (unchanged?.settings as Settings | undefined) ?? null;
}

interface WorkingProps { record: RecordDocument; plan: PassPlan | null; device: Device | null; onEnd: () => void; onTimeout: () => void }

function Working({ record, plan, device, onEnd, onTimeout }: WorkingProps) {
  const pass = record.passes[record.passes.length - 1];
  const step = (settings: Settings) => {
    if (!plan) return;
    if (pass) { void beginPass(record, { ...plan, settings }, true); return; }
    const kept = planDraft(record.record_id);
    kept.set(fromSettings(kept.value.value, settings));
  };
  const other = () => {
    const kept = planDraft(record.record_id);
    if (plan && pass) kept.set(fromPass(kept.value.value, plan, pass.event_id));
    go("plan", record.record_id);
  };
  const shown = plan && pass && pass.laser_on_s > 0 ? { ...plan.settings, emission_time: `${pass.laser_on_s} s` } : plan?.settings;
  const outcome = shown ? doseOf(shown) : null;
  return (
    <div class="two">
      <div class="stack">
        <UndoSlot>{record.time_out
          ? <Mark shape="done" id="timeout-done">{t.case.timeout.done(timeText(record.time_out.completed_at))}</Mark>
          : <span class="row"><Mark shape="warn" id="timeout-pending">{t.case.timeout.pending}</Mark>{record.passes.length === 0 ? <Press id="timeout-now" onPress={onTimeout}>{t.case.timeout.now}</Press> : null}</span>}</UndoSlot>
        {plan ? <Steps settings={plan.settings} device={device} onStep={step} starts={pass !== undefined} /> : null}
        <Press id="other-settings" wide onPress={other}>{plan ? t.case.otherSettings : t.case.chooseSettings}</Press>
        {pass ? <OtherTime record={record} pass={pass} /> : null}
        <Notes record={record} />
      </div>
      <div class="stack">
        {outcome?.ok && plan ? (
          <div class="sheet"><DosePanel brief response={outcome.response}
            basis={basisText(plan.device_id, plan.handpiece_id, plan.settings.emission["mode"] ?? "", Date.now())}
            facts={factsOf(plan.settings, { preset_settings: plan.preset_settings, spot_known: plan.spot_known, counted: pass ? `${pass.laser_on_s} s` : undefined })} /></div>
        ) : null}
        <PassList record={record} />
        <p class="small soft">{t.case.caution}</p>
        <div class="row spread">
          <Press id="case-leave" kind="quiet" onPress={() => go("today")}>{t.case.leave}</Press>
          <Press id="case-end" disabled={running.value !== null || !writing.value} onPress={onEnd}>{t.case.end}</Press>
        </div>
        {running.value ? <p class="small soft">{t.case.endFirst}</p> : null}
      </div>
    </div>
  );
}

function Bar({ record, plan }: { record: RecordDocument; plan: PassPlan | null }) {
  const pass = record.passes[record.passes.length - 1];
  if (pass) return <LaserBar record={record} pass={pass} />;
  return (
    <div class="foot">
      {plan
        ? <Press id="pass-start" kind="main" large disabled={!writing.value} onPress={() => void beginPass(record, plan)}>{t.case.startFirst}</Press>
        : <Press id="choose-settings" kind="main" large onPress={() => go("plan", record.record_id)}>{t.case.chooseSettings}</Press>}
    </div>
  );
}
