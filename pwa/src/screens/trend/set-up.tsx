import { Notice, Press } from "../../parts/basics";
import { More } from "../../parts/dose";
import { Choice, Select, TextField } from "../../parts/fields";
import { QuantityField, quantityText } from "../../parts/quantity";
import { house } from "../../session/house";
import { noteReference } from "../../session/optics";
import { writing } from "../../session/state";
import type { Device } from "../../session/types";
import { t } from "../../text";
import { attempt, busy } from "../attempt";
import { FIRST, FURTHER, withMode } from "../plan/form";
import { Value } from "../plan/value";
import { go } from "../route";
import { freshSetUp, judgeSetUp, type JudgedSetUp, LENGTH_UNITS, millimetres, type SetUpForm, setUpDraft, SPOT_UNITS, TIME_UNITS, withTip } from "./form";

/** A laser's own set-up for test cuts, recorded once. */
export function RecordSetUp({ device }: { device: Device }) {
  const w = t.trend;
  const kept = setUpDraft(device.device_id);
  if (!kept.ready.value) return <p class="page" role="status">{t.common.loading}</p>;
  const tips = house.value.handpieces.filter((one) => one.device_id === device.device_id);
  const form = kept.value.value ?? freshSetUp(device, tips);
  const set = kept.set;
  const change = (part: Partial<SetUpForm>) => set({ ...form, ...part });
  const judged = judgeSetUp(form, device);
  const { depth_m, lacks, payload } = judged;
  const done = () => { kept.clear(); go("practice", "trend", device.device_id); };
  const save = () => void attempt(async () => { if (payload) await noteReference(payload, form.id); }).then((held) => { if (held) done(); });
  const take = (id: string) => { const tip = tips.find((one) => one.handpiece_id === id); set(tip ? withTip(form, tip) : { ...form, handpiece_id: "" }); };
  return (
    <div class="page">
      <h1>{w.setUpTitle(device.label)}</h1>
      <p class="soft">{w.setUpLead}</p>
      <Notice shape="warn"><p>{w.caution}</p></Notice>
      <section class="sheet">
        <Select id="set-up-tip" label={w.tip} value={form.handpiece_id} onChange={take}
          options={[{ value: "", text: w.choose }, ...tips.map((one) => ({ value: one.handpiece_id, text: one.label }))]} />
        <Choice id="set-up-mode" legend={t.plan.mode} value={form.plan.mode} onChange={(mode) => change({ plan: withMode(form.plan, mode) })}
          options={Object.entries(t.plan.modes).filter(([value]) => device.modes.length === 0 || device.modes.includes(value)).map(([value, text]) => ({ value, text }))} />
        {form.plan.mode ? <Emission form={form} device={device} judged={judged} change={change} /> : null}
      </section>
      <section class="sheet">
        <QuantityField id="set-up-spot" label={w.spot} hint={w.spotHint} typed={form.spot} units={SPOT_UNITS} onChange={(spot) => change({ spot })} />
        <QuantityField id="set-up-distance" label={w.distance} typed={form.distance} units={LENGTH_UNITS} zero onChange={(distance) => change({ distance })} />
        <TextField id="set-up-stack" label={w.stack} hint={w.stackHint} max={400} spell value={form.stack} onChange={(stack) => change({ stack })} />
        <TextField id="set-up-wetness" label={w.wetness} hint={w.wetnessHint} max={400} spell value={form.wetness} onChange={(wetness) => change({ wetness })} />
        <QuantityField id="set-up-length" label={w.length} typed={form.length} units={LENGTH_UNITS} onChange={(length) => change({ length })} />
        <QuantityField id="set-up-time" label={w.time} typed={form.time} units={TIME_UNITS} onChange={(time) => change({ time })} />
      </section>
      <TextField id="set-up-note" label={w.note} long spell value={form.note} onChange={(note) => change({ note })} />
      {depth_m === null ? null : <p class="num" data-testid="set-up-depth">{w.expected(quantityText(millimetres(depth_m)))} <span class="small soft">{w.expectedHow}</span></p>}
      <p class="small soft">{w.neverWatts}</p>
      {lacks ? <p class="soft" data-testid="set-up-lacks">{w.lacks[lacks]}</p> : null}
      <Press id="set-up-save" kind="main" large wide disabled={payload === null || busy.value || !writing.value} onPress={save}>{w.setUpSave}</Press>
      <Press id="set-up-drop" kind="quiet" onPress={done}>{w.drop}</Press>
    </div>
  );
}

interface EmissionProps { form: SetUpForm; device: Device; judged: JudgedSetUp; change: (part: Partial<SetUpForm>) => void }

function Emission({ form: { plan }, device, judged: { judged, expected_w }, change }: EmissionProps) {
  const values = { form: plan, set: (next: typeof plan) => change({ plan: next }), device, prefix: "set-up", missing: judged.composed.missing, limits: judged.limits, errors: judged.errors };
  const further = FURTHER[plan.mode] ?? [];
  const kinds = Object.entries(t.plan.kinds).map(([value, text]) => ({ value, text, under: (t.plan.kindHints as Record<string, string>)[value] }));
  return (
    <>
      {(FIRST[plan.mode] ?? []).map((name) => (
        <div class="stack" key={name}>
          <Value name={name} {...values} />
          {name === "power" && plan.mode !== "continuous"
            ? <Choice id="set-up-kind" legend={t.plan.kind} value={plan.power_kind} options={kinds} onChange={(power_kind) => change({ plan: { ...plan, power_kind } })} /> : null}
        </div>
      ))}
      {further.length > 0 ? <More id="set-up-more" title={t.plan.more}>{further.map((name) => <Value key={name} name={name} {...values} />)}</More> : null}
      <p class="num">{expected_w === null ? t.power.expectedUnknown : t.power.expected(quantityText(`${expected_w} W`))}</p>
    </>
  );
}
