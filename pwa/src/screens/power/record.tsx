import { Notice, Press } from "../../parts/basics";
import { Choice, Select, TextField, Wrong } from "../../parts/fields";
import { QuantityField } from "../../parts/quantity";
import { say } from "../../session/commands_house";
import { house } from "../../session/house";
import { inUse, meters } from "../../session/registers";
import { localDay } from "../../session/lists";
import { writing, zone } from "../../session/state";
import type { Device } from "../../session/types";
import { t } from "../../text";
import { attempt, busy } from "../attempt";
import { MeterChoice } from "../register/meter-choice";
import { DayField } from "../day";
import { go } from "../route";
import { anotherSetting, type CheckForm, checkDraft, freshForm, judgeCheck, withDelivery } from "./form";
import { Outcome } from "./outcome";
import { Setting } from "./setting";

/** A power check of one laser: what is checked, with which meter, and the readings at each setting. */
export function RecordCheck({ device }: { device: Device }) {
  const kept = checkDraft(device.device_id);
  if (!kept.ready.value) return <p class="page" role="status">{t.common.loading}</p>;
  const tips = house.value.handpieces.filter((one) => one.device_id === device.device_id);
  const form = kept.value.value ?? freshForm(device, tips);
  const done = () => { kept.clear(); go("practice", "power", device.device_id); };
  return <Editor device={device} form={form} set={kept.set} done={done} />;
}

interface Props { device: Device; form: CheckForm; set: (form: CheckForm) => void; done: () => void }

function Editor({ device, form, set, done }: Props) {
  const w = t.power;
  const { settings, verified, lacks, payload } = judgeCheck(form, device);
  const change = (part: Partial<CheckForm>) => set({ ...form, ...part });
  const save = () => void attempt(async () => {
    if (payload) await say({ type: "verification.recorded", entity_id: form.id, payload: { ...payload } }, form.id);
  }).then((held) => { if (held) done(); });
  // The ratios of what was measured, in the order of the settings.
  const ratios = [...(verified?.setting_ratios ?? [])];
  return (
    <div class="page">
      <h1>{w.recordOf(device.label)}</h1>
      <Notice shape="warn"><p>{w.caution}</p></Notice>
      <div class="two">
        <div class="stack">
          <Delivery device={device} form={form} set={set} />
          <Meter form={form} change={change} />
          {form.mode ? <p class="soft">{w.guide}</p> : null}
          {form.settings.map((setting, n) => (
            <Setting key={n} number={n} setting={setting} judged={settings[n]!} device={device}
              ratio={verified && settings[n]!.readings.length > 0 ? ratios.shift() ?? null : null}
              set={(next) => change({ settings: form.settings.map((one, i) => (i === n ? next : one)) })}
              remove={form.settings.length > 1 ? () => change({ settings: form.settings.filter((_, i) => i !== n) }) : null} />
          ))}
          {form.mode ? <Press id="setting-add" onPress={() => set(anotherSetting(form, device))}>{w.addSetting}</Press> : null}
        </div>
        <div class="stack">
          <Outcome verified={verified} />
          <TextField id="power-note" label={w.note} hint={w.noteHint} long spell value={form.note} onChange={(note) => change({ note })} />
          {lacks ? <p class="soft" data-testid="power-lacks">{w.lacks[lacks]}</p> : null}
          <Press id="power-save" kind="main" large wide disabled={payload === null || busy.value || !writing.value} onPress={save}>{w.save}</Press>
          <Press id="power-drop" kind="quiet" onPress={done}>{w.drop}</Press>
        </div>
      </div>
    </div>
  );
}

function Delivery({ device, form, set }: { device: Device; form: CheckForm; set: (form: CheckForm) => void }) {
  const w = t.power;
  const tips = house.value.handpieces.filter((one) => one.device_id === device.device_id);
  const modes = Object.entries(t.plan.modes).filter(([value]) => device.modes.length === 0 || device.modes.includes(value));
  return (
    <section class="sheet" aria-label={w.delivery}>
      <h2>{w.delivery}</h2>
      <p class="small soft">{w.deliveryLead}</p>
      <Select id="power-tip" label={w.tip} value={form.handpiece_id} onChange={(id) => set(withDelivery(form, device, id, form.mode))}
        options={[{ value: "", text: w.choose }, ...tips.map((one) => ({ value: one.handpiece_id, text: one.label }))]} />
      <Choice id="power-mode" legend={t.plan.mode} value={form.mode} options={modes.map(([value, text]) => ({ value, text }))}
        onChange={(mode) => set(withDelivery(form, device, form.handpiece_id, mode))} />
    </section>
  );
}

function Meter({ form, change }: { form: CheckForm; change: (part: Partial<CheckForm>) => void }) {
  const w = t.power;
  const today = localDay(Date.now(), zone.value);
  return (
    <section class="sheet" aria-label={w.meter}>
      <h2>{w.meter}</h2>
      {meters.value.some(inUse) ? <MeterChoice serial={form.serial} label={form.label} onPick={change} /> : null}
      <TextField id="meter-label" label={w.meterLabel} value={form.label} max={200} onChange={(label) => change({ label })} />
      <TextField id="meter-serial" label={w.meterSerial} value={form.serial} max={200} onChange={(serial) => change({ serial })} />
      <DayField id="meter-calibrated" label={w.calibrated} value={form.calibrated_on} onChange={(calibrated_on) => change({ calibrated_on })}
        wrong={form.calibrated_on > today ? w.lacks.calibrated : undefined} />
      {form.calibrated_on && aYearLater(form.calibrated_on) < today ? <Wrong id="meter-old">{w.calibratedLongAgo}</Wrong> : null}
      <QuantityField id="meter-uncertainty" label={w.meterUncertainty} hint={w.meterUncertaintyHint} typed={form.uncertainty} units={["%"]} zero
        onChange={(uncertainty) => change({ uncertainty })} />
    </section>
  );
}

/** Meters are calibrated yearly: common practice, no source. */
const aYearLater = (day: string): string => `${Number(day.slice(0, 4)) + 1}${day.slice(4)}`;
