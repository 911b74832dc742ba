import { SpotDrawing } from "../../parts/drawings/spot";
import { More, show } from "../../parts/dose";
import { Choice } from "../../parts/fields";
import { quantityText } from "../../parts/quantity";
import type { DoseOutcome } from "../../session/dosing";
import { house } from "../../session/house";
import { t } from "../../text";
import { compose } from "./form";
import { beamOf } from "./pictures";
import { Value, type ValueProps } from "./value";
import { SPOT_FIELDS, SPOT_FORMS, type SpotForm } from "./spot-form";

/** The spot: one number from the label, or the optics it follows from. */
export function SpotValues(props: ValueProps & { outcome: DoseOutcome | null }) {
  const { form, set, outcome } = props;
  const handpiece = house.value.handpieces.find((h) => h.handpiece_id === form.handpiece_id);
  const kind = form.spot_form ?? "diameter";
  const { needed, optional } = SPOT_FIELDS[kind];
  const spot = outcome?.ok ? outcome.response.dose.set["spot_diameter"] : undefined;
  const beam = kind !== "diameter" && outcome?.ok ? beamOf(compose(form, props.device).settings, outcome.response) : null;
  return (
    <>
      {kind === "diameter" ? null : <h3>{t.plan.spotForms[kind]}</h3>}
      {[...optional, ...needed].map((name) => <Value key={name} name={name} {...props} />)}
      {kind !== "diameter" && spot ? <p class="num" data-testid="plan-spot-now">{t.plan.spotNow(show("spot_diameter", spot))}</p> : null}
      {beam ? <SpotDrawing id="drawing-spot" beam={beam} /> : null}
      {handpiece ? <p class="small soft">{t.plan.spotFrom(`${quantityText(handpiece.spot_diameter)}, ${t.plan.definitions[handpiece.diameter_definition] ?? ""}`)}</p> : null}
      <More id="spot-more" title={t.plan.spotMore}>
        <Choice id="spot-form" legend={t.plan.spotForm} value={kind} options={SPOT_FORMS.map((value) => ({ value, text: t.plan.spotForms[value]!, under: t.plan.spotFormHints[value] }))}
          onChange={(value) => set({ ...form, spot_form: value as SpotForm, values: value === "diameter" ? form.values : inFocus(form.values) })} />
        {kind === "diameter"
          ? <Choice id="spot-definition" legend={t.plan.definition} value={form.definition} options={Object.entries(t.plan.definitions).map(([value, text]) => ({ value, text, under: t.plan.definitionHints[value] }))}
              onChange={(definition) => set({ ...form, definition })} />
          : null}
        <Choice id="spot-known" legend={t.plan.spotKnown} value={form.spot_known} options={Object.entries(t.plan.known).map(([value, text]) => ({ value, text }))} onChange={(spot_known) => set({ ...form, spot_known })} />
        {kind === "diameter" ? <Value name="spot_uncertainty" {...props} /> : null}
      </More>
    </>
  );
}

/** In focus, until somebody says otherwise; what the optics are is never filled in. */
function inFocus(values: ValueProps["form"]["values"]): ValueProps["form"]["values"] {
  const zero = (name: "defocus" | "distance") => (values[name]?.raw ? values[name] : { raw: "0", unit: "mm", sure: true as const });
  return { ...values, defocus: zero("defocus"), distance: zero("distance") };
}
