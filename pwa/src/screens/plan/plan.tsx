import { Notice, Press } from "../../parts/basics";
import { Choice, type Option } from "../../parts/fields";
import { house } from "../../session/house";
import { barred, presetsInForce } from "../../session/house_presets";
import { ownRecords, writing } from "../../session/state";
import type { Device } from "../../session/types";
import { t } from "../../text";
import { go } from "../route";
import { CaseLine } from "../case/head";
import { beginPass } from "../case/passes";
import { currentPlan } from "../case/plan-now";
import { PassTimer, timedPass } from "../case/timer";
import { PresetChoice } from "../presets/choose";
import { ScanTip } from "../register/scan-tip";
import { casePlan, pairDraft, planDraft } from "./drafts";
import { DoseLine, PlanDose } from "./dose";
import { PanelValues } from "./fields";
import { emptyForm, fromPreset, passPlan, withHandpiece, type PlanForm } from "./form";
import { judge } from "./judge";
import { OutOfService } from "../service/mark";

export { planDraft } from "./drafts";

export function Plan({ record_id }: { record_id: string | null }) {
  const kept = planDraft(record_id);
  const pair = pairDraft(record_id);
  if (!kept.ready.value) return <p class="page" role="status">{t.common.loading}</p>;
  const record = record_id ? ownRecords.value.find((r) => r.record_id === record_id) ?? null : null;
  const form = settled(kept.value.value, record?.device?.device_id ?? null, record?.handpiece?.handpiece_id ?? null);
  const device = house.value.devices.find((d) => d.device_id === form.device_id) ?? null;
  const judged = judge(form, device);
  const { composed, outcome, limits, errors } = judged;
  const gone = barred(form.preset, record?.passes ?? []);
  const ready = judged.why === null && !gone && writing.value;
  const use = () => {
    const plan = passPlan(form, composed.settings);
    if (record && record.passes.length > 0) {
      void beginPass(record, plan).then((done) => { if (done) { kept.clear(); go("case", record.record_id); } });
    } else if (record) {
      casePlan(record.record_id).set(form);
      kept.clear();
      go("case", record.record_id);
    } else {
      kept.set(form);
      go("case", "new");
    }
  };
  const compareWith = () => {
    kept.set(form);
    const before = pair.value.value;
    // Whoever comes back to the same A finds the B that was made of it.
    if (!before.a || !before.b || !sameForm(before.a, form)) pair.set({ ...before, a: form, b: form, side: "b" });
    go(...(record_id ? ["compare", record_id] : ["compare"]));
  };
  return (<>
    {record ? <CaseLine record={record} plan={currentPlan(record, device)} /> : null}
    <div class="page plan">
      <h1>{record ? t.plan.titleForPass : t.plan.title}</h1>
      <div class="two">
        <div class="stack">
          <Chooser form={form} set={kept.set} began={record?.handpiece?.handpiece_id ?? null} />
          {form.handpiece_id ? <PanelValues form={form} set={kept.set} device={device} missing={composed.missing} limits={limits} errors={errors} outcome={outcome} /> : null}
        </div>
        <div class="stack">
          <OutOfService device_id={form.device_id} />
          {Object.keys(limits).length > 0 ? <Notice shape="stop" id="limits"><strong>{t.plan.limits}</strong>{Object.values(limits).map((text) => <p key={text}>{text}</p>)}</Notice> : null}
          <PlanDose form={form} settings={composed.settings} outcome={outcome} />
          <Press id="plan-compare" wide disabled={!outcome?.ok || !composed.complete} onPress={compareWith}>{t.compare.open}</Press>
          <Press id="plan-clear" kind="quiet" onPress={kept.clear}>{t.plan.clear}</Press>
          <p class="small soft">{t.plan.dirty} {t.common.caution}</p>
        </div>
      </div>
      {record && timedPass(record) ? <PassTimer record={record} /> : <div class="plan-bar">
        {ready && outcome?.ok ? <DoseLine settings={composed.settings} response={outcome.response} /> : <p class="small soft" data-testid="plan-not-ready">{gone ? t.presets.goneMore : judged.why}</p>}
        <Press id="plan-use" kind="main" large disabled={!ready} onPress={use}>
          {record ? (record.passes.length > 0 ? t.plan.useNext : t.plan.useFirst) : t.plan.useNew}
        </Press>
      </div>}
    </div>
  </>);
}

const sameForm = (a: PlanForm, b: PlanForm): boolean => JSON.stringify(a) === JSON.stringify(b);

/** Fill in what there is only one of, or what the open case began with, so that nobody taps for nothing. */
function settled(form: PlanForm, device_id: string | null, handpiece_id: string | null): PlanForm {
  const { devices, handpieces } = house.value;
  let next = form;
  const laser = device_id ?? (next.device_id || (devices.length === 1 ? devices[0]!.device_id : ""));
  if (laser && laser !== next.device_id) next = { ...next, device_id: laser, handpiece_id: "" };
  if (next.handpiece_id && !handpieces.some((h) => h.handpiece_id === next.handpiece_id && h.device_id === laser)) next = { ...next, handpiece_id: "" };
  if (!next.handpiece_id && laser) {
    const tips = handpieces.filter((h) => h.device_id === laser);
    const tip = tips.find((h) => h.handpiece_id === handpiece_id) ?? (tips.length === 1 ? tips[0] : undefined);
    if (tip) next = withHandpiece(next, tip);
  }
  return next;
}

interface ChooserProps { form: PlanForm; set: (form: PlanForm) => void; began: string | null }

/** Laser, preset and tip. An open case keeps its laser; a pass may have another tip than the case `began` with. */
function Chooser({ form, set, began }: ChooserProps) {
  const { devices, handpieces } = house.value;
  const tips = handpieces.filter((h) => h.device_id === form.device_id);
  const offered = presetsInForce.value.filter((p) => !form.device_id || p.device_id === form.device_id);
  return (
    <section class="stack">
      {devices.length > 1 && began === null ? (
        <Choice id="plan-device" legend={t.plan.laser} value={form.device_id} options={devices.map(deviceOption)}
          onChange={(device_id) => set({ ...emptyForm(), device_id })} />
      ) : null}
      <PresetChoice presets={offered} form={form} onDrop={() => set({ ...form, preset: null, preset_settings: null })} onPick={(p) => set(fromPreset(form, p, handpieces.find((h) => h.handpiece_id === p.handpiece_id)))} />
      {tips.length > 1 ? (
        <Choice id="plan-handpiece" legend={t.plan.handpiece} value={form.handpiece_id} options={tips.map((h) => ({ value: h.handpiece_id, text: h.label }))}
          onChange={(id) => { const tip = tips.find((h) => h.handpiece_id === id); if (tip) set(withHandpiece(form, tip)); }} />
      ) : null}
      {handpieces.length > 0 ? <ScanTip device_id={form.device_id || null} onTip={(tip) => set(withHandpiece(form.device_id === tip.device_id ? form : { ...emptyForm(), device_id: tip.device_id }, tip))} fixed={began !== null} /> : null}
      {began !== null && form.handpiece_id && form.handpiece_id !== began
        ? <Notice calm id="plan-other-tip"><p class="small">{t.plan.tipOther(tips.find((h) => h.handpiece_id === began)?.label ?? "")}</p></Notice> : null}
    </section>
  );
}

const deviceOption = (d: Device): Option => ({ value: d.device_id, text: d.label, under: d.serial });
