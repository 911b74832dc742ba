import { Mark } from "../../parts/basics";
import { Choice } from "../../parts/fields";
import { More } from "../../parts/dose";
import { QuantityField, quantityText } from "../../parts/quantity";
import { house } from "../../session/house";
import { sameSettings } from "../../session/settings";
import type { Device } from "../../session/types";
import { t } from "../../text";
import { compose, FIRST, FURTHER, UNITS, type PlanForm, type ValueName } from "./form";

interface Props {
  form: PlanForm;
  set: (form: PlanForm) => void;
  device: Device | null;
  missing: Record<string, string>;
  limits: Record<string, string>;
  errors: Record<string, string>;
}

const options = (words: Record<string, string>, under: Record<string, string> = {}) =>
  Object.entries(words).map(([value, text]) => ({ value, text, under: under[value] }));

/** What the panel shows, field by field; refusals stand at the field they concern. */
export function PanelValues(props: Props) {
  const { form, set, device } = props;
  const handpiece = house.value.handpieces.find((h) => h.handpiece_id === form.handpiece_id);
  const modes = options(t.plan.modes, t.plan.modeHints).filter((o) => !device?.modes?.length || device.modes.includes(o.value));
  const changed = form.preset_settings && !sameSettings(compose(form, device).settings, form.preset_settings);
  const value = (name: ValueName) => <Value key={name} name={name} {...props} />;
  const further = (FURTHER[form.mode] ?? []).map(value);
  return (
    <section class="sheet" aria-label={t.plan.panel}>
      <div class="row spread"><h2>{t.plan.panel}</h2>
        {changed ? <Mark shape="note" id="changed-from-preset">{t.plan.changed} {form.preset?.name}</Mark> : null}</div>
      <Choice id="mode" legend={t.plan.mode} value={form.mode} options={modes} onChange={(mode) => set({ ...form, mode })} />
      {(FIRST[form.mode] ?? []).map((name) => (name === "power" && form.mode !== "continuous"
        ? <div class="stack" key={name}>
            {value(name)}
            <Choice id="power-kind" legend={t.plan.kind} value={form.power_kind} options={options(t.plan.kinds, t.plan.kindHints)}
              wrong={props.errors["power_kind"]} onChange={(power_kind) => set({ ...form, power_kind })} />
          </div>
        : value(name)))}
      {form.mode ? value("spot") : null}
      {form.mode && handpiece ? <p class="small soft">{t.plan.spotFrom(quantityText(handpiece.spot_diameter))}</p> : null}
      {form.mode ? (
        <More id="plan-more" title={t.plan.more}>
          <p class="small soft">{t.plan.moreHint}</p>
          {further}
          {value("speed")}
          <Choice id="spot-definition" legend={t.plan.definition} value={form.definition} options={options(t.plan.definitions)} onChange={(definition) => set({ ...form, definition })} />
          <Choice id="spot-known" legend={t.plan.spotKnown} value={form.spot_known} options={options(t.plan.known)} onChange={(spot_known) => set({ ...form, spot_known })} />
          <Choice id="focus" across legend={t.plan.focus} value={form.focus} options={options(t.plan.focuses)} onChange={(focus) => set({ ...form, focus })} />
          <Choice id="coolant" across legend={t.plan.coolant} value={form.coolant} options={options(t.plan.coolants)} onChange={(coolant) => set({ ...form, coolant })} />
        </More>
      ) : null}
    </section>
  );
}

function Value({ name, form, set, missing, limits, errors }: Props & { name: ValueName }) {
  const wrong = limits[name] ?? errors[name] ?? (missing[name] || undefined);
  // A field still empty is not an error while somebody is on the way to it.
  const empty = form.values[name].raw.trim() === "";
  return (
    <QuantityField id={`plan-${name.replace(/_/g, "-")}`} label={(t.plan as unknown as Record<string, string>)[name]!}
      typed={form.values[name]} units={UNITS[name]} hint={name === "speed" ? t.plan.speedHint : undefined}
      wrong={empty ? undefined : wrong}
      onChange={(typed) => set({ ...form, values: { ...form.values, [name]: typed }, spot_known: name === "spot" ? "estimated" : form.spot_known })} />
  );
}
