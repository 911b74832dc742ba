import { Mark } from "../../parts/basics";
import { More } from "../../parts/dose";
import { Choice } from "../../parts/fields";
import type { DoseOutcome } from "../../session/dosing";
import { sameSettings } from "../../session/settings";
import { t } from "../../text";
import { compose, FIRST, FURTHER, withMode } from "./form";
import { SpotValues } from "./spot-fields";
import { Value, type ValueProps } from "./value";
import type { ValueName } from "./values";

const options = (words: Record<string, string>, under: Record<string, string> = {}) =>
  Object.entries(words).map(([value, text]) => ({ value, text, under: under[value] }));

/** What the panel shows, field by field; refusals stand at the field they concern. */
export function PanelValues(props: ValueProps & { outcome: DoseOutcome | null }) {
  const { form, set, device } = props;
  const modes = options(t.plan.modes, t.plan.modeHints).filter((o) => !device?.modes?.length || device.modes.includes(o.value));
  const changed = form.preset_settings && !sameSettings(compose(form, device).settings, form.preset_settings);
  const value = (name: ValueName) => <Value key={name} name={name} {...props} />;
  return (
    <section class="sheet" aria-label={t.plan.panel}>
      <div class="row spread"><h2>{t.plan.panel}</h2>
        {changed ? <Mark shape="note" id="changed-from-preset">{t.plan.changed} {form.preset?.name}</Mark> : null}</div>
      <Choice id="mode" legend={t.plan.mode} value={form.mode} options={modes} onChange={(mode) => set(withMode(form, mode))} />
      {(FIRST[form.mode] ?? []).map((name) => (name === "power" && form.mode !== "continuous"
        ? <div class="stack" key={name}>
            {value(name)}
            <Choice id="power-kind" legend={t.plan.kind} value={form.power_kind} options={options(t.plan.kinds, t.plan.kindHints)}
              wrong={props.errors["power_kind"]} onChange={(power_kind) => set({ ...form, power_kind })} />
          </div>
        : value(name)))}
      {form.mode ? <SpotValues {...props} /> : null}
      {form.mode ? (
        <More id="plan-more" title={t.plan.more}>
          <p class="small soft">{t.plan.moreHint}</p>
          {(FURTHER[form.mode] ?? []).map(value)}
          {value("speed")}
          <Choice id="tissue" across legend={t.plan.tissue} hint={t.plan.tissueHint} value={form.tissue ?? ""} options={options(t.plan.tissues)} onChange={(tissue) => set({ ...form, tissue })} />
          <Choice id="focus" across legend={t.plan.focus} value={form.focus} options={options(t.plan.focuses)} onChange={(focus) => set({ ...form, focus })} />
          <Choice id="coolant" across legend={t.plan.coolant} value={form.coolant} options={options(t.plan.coolants)} onChange={(coolant) => set({ ...form, coolant })} />
        </More>
      ) : null}
    </section>
  );
}
