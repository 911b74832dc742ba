import { Mark, Press } from "../../parts/basics";
import { More } from "../../parts/dose";
import { Choice } from "../../parts/fields";
import { QuantityField, quantityText } from "../../parts/quantity";
import type { Device } from "../../session/types";
import { t } from "../../text";
import { percent } from "../facts";
import { FIRST, FURTHER } from "../plan/form";
import { Value } from "../plan/value";
import { type JudgedSetting, POWER_UNITS, type SettingForm, withReading } from "./form";

interface Props {
  number: number;
  setting: SettingForm;
  judged: JudgedSetting;
  ratio: string | null;
  device: Device;
  set: (setting: SettingForm) => void;
  remove: (() => void) | null;
}

/** One setting of the panel, the power it means, and what the meter showed. */
export function Setting({ number, setting, judged: { judged, expected_w }, ratio, device, set, remove }: Props) {
  const { plan, shown } = setting;
  const w = t.power;
  const prefix = `setting-${number}`;
  const values = { form: plan, set: (next: typeof plan) => set({ ...setting, plan: next }), device, prefix, missing: judged.composed.missing, limits: judged.limits, errors: judged.errors };
  const further = FURTHER[plan.mode] ?? [];
  const kinds = Object.entries(t.plan.kinds).map(([value, text]) => ({ value, text, under: (t.plan.kindHints as Record<string, string>)[value] }));
  return (
    <section class="sheet" aria-label={w.setting(number + 1)} data-testid={prefix}>
      <h2>{w.setting(number + 1)}</h2>
      {(FIRST[plan.mode] ?? []).map((name) => (
        <div class="stack" key={name}>
          <Value name={name} {...values} />
          {name === "power" && plan.mode !== "continuous"
            ? <Choice id={`${prefix}-kind`} legend={t.plan.kind} value={plan.power_kind} options={kinds} onChange={(power_kind) => set({ ...setting, plan: { ...plan, power_kind } })} />
            : null}
        </div>
      ))}
      {further.length > 0
        ? <More id={`${prefix}-more`} title={t.plan.more}>{further.map((name) => <Value key={name} name={name} {...values} />)}</More> : null}
      <p class="num" data-testid={`${prefix}-expected`}>{expected_w === null ? w.expectedUnknown : w.expected(quantityText(`${expected_w} W`))}</p>
      <h3>{w.readings}</h3>
      {shown.map((typed, n) => (
        <QuantityField key={n} id={`${prefix}-reading-${n}`} label={w.reading(n + 1)} typed={typed} units={POWER_UNITS} zero
          onChange={(next) => set(withReading(setting, n, next))} />
      ))}
      {ratio === null ? null : <p data-testid={`${prefix}-ratio`}><Mark shape="note">{w.ratioOf(percent(ratio))}</Mark></p>}
      {remove ? <Press id={`${prefix}-remove`} kind="quiet" onPress={remove}>{w.removeSetting}</Press> : null}
    </section>
  );
}
